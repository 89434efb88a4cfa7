"""Looking at pages in a real browser, in every size and theme (tests only).

axe-core (MPL 2.0, from its package) looks for what keeps people out. With ASFOUND_SHOTS set,
screenshots of all that is looked at go to build/screenshots.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from socket import socket
from typing import Any, Literal
from urllib.parse import quote

from playwright.sync_api import Browser, BrowserContext, Page
from tests.journeys.test_pages_visit import (
    COLOURS,
    SHOOT,
    SHOTS,
    SIZES,
    TAGS,
    TOUCH_PX,
    violations,
)

Kind = Literal["phone", "laptop"]
Scheme = Literal["light", "dark"]
KINDS: tuple[Kind, ...] = ("phone", "laptop")

TARGETS = (
    "button:visible, .button:visible, nav a:visible, summary:visible, select:visible,"
    " textarea:visible, input:not([type=hidden], [type=checkbox], [type=radio], .hidden):visible,"
    " label.choice:visible, label.tick:visible, .list > li > a:visible"
)
"""What a finger has to hit. Links inside a sentence are as high as its line (WCAG 2.2, 2.5.5)."""

LONGEST_PX = 12_000
"""No picture of a page is higher."""

SMALL = f"""(targets) => targets.map(one => [one, one.getBoundingClientRect()])
  .filter(([_, box]) => box.height && (box.height < {TOUCH_PX} || box.width < {TOUCH_PX}))
  .map(([one, box]) => `${{one.outerHTML.slice(0, 90)}} ${{box.width}}x${{box.height}}`)"""

CUT = """() => [...document.querySelectorAll('main *')].filter(one => {
  const box = one.getBoundingClientRect();
  return box.width && !one.closest('.hidden, svg, .shots, [aria-hidden=true]')
    && (box.right > window.innerWidth + 1 || box.left < -1);
}).map(one => one.outerHTML.slice(0, 90))"""
"""What reaches over an edge of the screen, but for rows that are meant to be pushed sideways."""

CLIPPED = """() => [...document.querySelectorAll('button, .button, .chip, h1, h2, h3')]
  .filter(one => one.getClientRects().length && one.scrollWidth > one.clientWidth + 1
    && getComputedStyle(one).overflowX !== 'visible')
  .map(one => one.outerHTML.slice(0, 90))"""
"""Words that are cut off inside their own box; a long name at the top may end in dots."""


@contextmanager
def seat(
    browser: Browser, kind: Kind, scheme: Scheme, name: str = "", address: str = ""
) -> Iterator[BrowserContext]:
    """A browser of this size and theme; ``name``: its person gave one at ``address`` before."""
    width, height = SIZES[kind]
    context = browser.new_context(
        viewport={"width": width, "height": height},
        color_scheme=scheme,
        has_touch=kind == "phone",
        is_mobile=kind == "phone",
        locale="en-GB",
        # Colours that are still fading from one theme to the other are no fault.
        reduced_motion="reduce",
    )
    if name:
        context.add_cookies([{"name": "asfound_name", "value": quote(name), "url": address}])
    yield context
    context.close()


def faults(
    page: Page,
    name: str,
    kind: Kind,
    scheme: Scheme,
    folder: Path = SHOTS,
    but: Sequence[str] = (),
) -> list[str]:
    """What is wrong with the page as it stands, by all rules ``but`` these."""
    told = [f"{name} {kind} {scheme}: {line}" for line in violations(page, TAGS, but)]
    return told + out_of_place(page, name, kind, scheme, folder)


def out_of_place(
    page: Page, name: str, kind: Kind, scheme: Scheme, folder: Path = SHOTS
) -> list[str]:
    """What does not fit the screen, or no finger hits."""
    _picture(page, folder / f"{name}-{kind}-{scheme}.png")
    told = []
    if page.evaluate("document.documentElement.scrollWidth - window.innerWidth") > 0:
        told.append("scrolls sideways")
    told += [f"over the edge: {one}" for one in page.evaluate(CUT)]
    told += [f"cut off: {one}" for one in page.evaluate(CLIPPED)]
    told += [f"too small: {one}" for one in page.locator(TARGETS).evaluate_all(SMALL)]
    return [f"{name} {kind} {scheme}: {line}" for line in told]


def free_port() -> int:
    """A port of this machine that nobody listens on."""
    with socket() as asking:
        asking.bind(("127.0.0.1", 0))
        port: int = asking.getsockname()[1]
        return port


def _picture(page: Page, path: Path) -> None:
    """The whole page as one picture, when pictures are asked for. The screen is made as high as
    the page for it: what reaches beyond the screen is drawn as if no finger was there."""
    if not SHOOT:
        return
    path.parent.mkdir(parents=True, exist_ok=True)
    size = page.viewport_size
    height = page.evaluate("document.documentElement.scrollHeight")
    if size is None or page.locator("dialog[open]").count() or height <= size["height"]:
        page.screenshot(path=path)
        return
    page.set_viewport_size({"width": size["width"], "height": min(height, LONGEST_PX)})
    page.screenshot(path=path)
    page.set_viewport_size(size)


def look_everywhere(page: Page, name: str, folder: Path = SHOTS) -> list[str]:
    """What is wrong with the page as it stands, in every size and theme; then it is as it was.

    Contrast takes most of axe's time. Colours come from the same few variables in both sizes
    (style.css), so the phone's are looked at in light and the laptop's in the dark.
    """
    size = page.viewport_size
    dark = page.evaluate("matchMedia('(prefers-color-scheme: dark)').matches")
    told: list[str] = []
    for kind in KINDS:
        width, height = SIZES[kind]
        page.set_viewport_size({"width": width, "height": height})
        page.emulate_media(color_scheme="light")
        settled(page)
        told += faults(page, name, kind, "light", folder, COLOURS if kind == "laptop" else ())
        page.emulate_media(color_scheme="dark")
        if kind == "laptop":
            told += [f"{name} {kind} dark: {line}" for line in violations(page, COLOURS)]
        _picture(page, folder / f"{name}-{kind}-dark.png")
    if size is not None:
        page.set_viewport_size(size)
    page.emulate_media(color_scheme="dark" if dark else "light")
    return told


def settled(page: Page) -> None:
    """Every picture is there."""
    page.evaluate(
        """async () => {
          for (const one of document.images) one.loading = 'eager';
          // A picture in a drawing does not say whether it is there: it is asked for once more.
          const drawn = [...document.querySelectorAll('svg image')].map(one => new Promise(on => {
            one.addEventListener('load', on); one.addEventListener('error', on);
            one.setAttribute('href', one.getAttribute('href'));
          }));
          await Promise.all(drawn);
          await Promise.all([...document.images].map(one => one.complete || new Promise(on => {
            one.addEventListener('load', on); one.addEventListener('error', on);
          })));
        }"""
    )


def sign_by_finger(page: Page) -> None:
    """A zigzag drawn by a finger: touches, as a touch screen sends them (CDP, Input domain)."""
    pad = page.get_by_role("img", name="Place to sign in")
    pad.scroll_into_view_if_needed()
    box: Any = pad.bounding_box()
    line = [(box["x"] + 40, box["y"] + 90)]
    line += [(box["x"] + 50 + 12 * n, box["y"] + (50 if n % 2 else 110)) for n in range(14)]
    client = page.context.new_cdp_session(page)
    for number, (x, y) in enumerate(line):
        kind = "touchMove" if number else "touchStart"
        touch = {"type": kind, "touchPoints": [{"x": x, "y": y}]}
        client.send("Input.dispatchTouchEvent", touch)
    client.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    client.detach()


def sign_by_mouse(page: Page) -> None:
    """The same zigzag with a mouse."""
    pad = page.get_by_role("img", name="Place to sign in")
    pad.scroll_into_view_if_needed()
    box: Any = pad.bounding_box()
    page.mouse.move(box["x"] + 40, box["y"] + 90)
    page.mouse.down()
    for step in range(14):
        page.mouse.move(box["x"] + 50 + 12 * step, box["y"] + (50 if step % 2 else 110))
    page.mouse.up()
