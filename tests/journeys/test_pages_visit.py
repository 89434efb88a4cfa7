"""A visit by pages in a real browser: phone and laptop, light and dark, two people at once.

Screenshots are taken when ASFOUND_SHOTS is set, and go to build/screenshots; axe-core (MPL 2.0,
from its package) looks at every page.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from socket import socket
from typing import Any

import cv2
import numpy as np
import pytest
from playwright.sync_api import Browser, Page, expect
from tests.web.kit import LAN, PORT, services
from tests.web.kit import Browser as Laptop

from asfound.demo.scenario import FLEET_FILE

ROOT = Path(__file__).parents[2]
SHOTS = ROOT / "build" / "screenshots"
SHOOT = "ASFOUND_SHOTS" in os.environ
"""Whether to take a picture of every page that is looked at: no test needs one."""
AXE = files("axe_playwright_python").joinpath("axe.min.js").read_text(encoding="utf-8")
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
COLOURS = ["color-contrast", "link-in-text-block"]
"""The rules that the second theme of a page is held to. It differs from the first in colours
alone (tests/web/test_themes.py)."""
SIZES = {"phone": (390, 844), "laptop": (1440, 900)}
TOUCH_PX = 44
"""Web Content Accessibility Guidelines 2.2, 2.5.5: 44 by 44 CSS pixels."""

TARGETS = "button:visible, .button:visible, nav a:visible, summary:visible"
READY_S = 60.0


@dataclass
class Server:
    """The pages in a process of their own."""

    home: Path
    port: int
    options: tuple[str, ...] = ()
    process: subprocess.Popen[str] | None = None

    @property
    def address(self) -> str:
        return f"http://localhost:{self.port}"

    def start(self) -> None:
        program = [sys.executable, "-c", "from asfound.cli.entry import run; run()", "serve"]
        options = ["--no-browser", "--port", str(self.port), "--home", str(self.home)]
        self.process = subprocess.Popen(
            [*program, *options, *self.options],
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        end = time.monotonic() + READY_S
        while time.monotonic() < end:
            try:
                urllib.request.urlopen(f"{self.address}/settings", timeout=5).close()
                return
            except OSError:
                assert self.process.poll() is None, self.process.communicate()[0]
                time.sleep(0.1)
        raise AssertionError("the pages did not come up")

    def kill(self) -> None:
        assert self.process is not None
        self.process.kill()
        self.process.communicate()


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    home = tmp_path_factory.mktemp("home")
    (home / "fleet.toml").write_bytes(FLEET_FILE.read_bytes())
    with socket() as asking:
        asking.bind(("127.0.0.1", 0))
        port = asking.getsockname()[1]
    made = Server(home, port)
    made.start()
    yield made
    made.kill()


def watch(page: Page) -> list[str]:
    """What the browser complains about: faults of scripts, refusals of the policy."""
    said: list[str] = []
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("console", lambda line: said.append(line.text) if line.type == "error" else None)
    return said


def violations(page: Page, tags: Sequence[str], but: Sequence[str] = ()) -> list[str]:
    """What axe finds on the page as it stands, by rules of these tags or names ``but`` some."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE)
    run = "asked => axe.run(document, {...asked, resultTypes: ['violations']})"
    rules = {rule: {"enabled": False} for rule in but}
    asked = {"runOnly": list(tags), **({"rules": rules} if rules else {})}
    found: dict[str, Any] = page.evaluate(run, asked)
    return [
        f"{item['id']}: {node['html'][:120]}"
        for item in found["violations"]
        for node in item["nodes"]
    ]


def look_in_both_themes(page: Page, name: str, kind: str) -> None:
    """The page in light, and its colours in dark; then it is light again."""
    look(page, name, kind, "light")
    page.emulate_media(color_scheme="dark")
    told = violations(page, COLOURS)
    assert not told, f"{name} {kind} dark: {told}"
    if SHOOT:
        page.screenshot(path=SHOTS / f"{name}-{kind}-dark.png", full_page=True)
    page.emulate_media(color_scheme="light")


def look(page: Page, name: str, kind: str, scheme: str) -> None:
    """No violation, no sideways scrolling, targets that a cold finger hits."""
    if SHOOT:
        SHOTS.mkdir(parents=True, exist_ok=True)
        page.screenshot(path=SHOTS / f"{name}-{kind}-{scheme}.png", full_page=True)
    told = violations(page, TAGS)
    assert not told, f"{name} {kind} {scheme}: {told}"
    assert page.evaluate("document.documentElement.scrollWidth - window.innerWidth") <= 0
    for target in page.locator(
        "button:visible, .button:visible, nav a:visible, summary:visible"
    ).all():
        box = target.bounding_box()
        assert box and box["height"] >= TOUCH_PX, f"{name}: {target.inner_text()} {box}"


def open_visit(page: Page, server: Server, vehicle: str) -> str:
    page.goto(f"{server.address}/vehicles?q={vehicle}")
    page.get_by_role("link", name=re.compile(rf"^{vehicle}")).click()
    page.get_by_role("link", name="Open a visit").click()
    page.get_by_role("radio", name=re.compile("Firmware and reset")).check()
    if page.get_by_label("Your name").count():
        page.get_by_label("Your name").fill("Ines Okafor")
    page.get_by_role("button", name="Open the visit").click()
    page.wait_for_url(re.compile("/visits/"))
    return page.url


@pytest.mark.parametrize("kind", ["phone", "laptop"])
def test_a_visit_by_pages(browser: Browser, server: Server, kind: str) -> None:
    width, height = SIZES[kind]
    context = browser.new_context(
        viewport={"width": width, "height": height},
        locale="en-GB",
        # Colours that are still fading from one theme to the other are no fault.
        reduced_motion="reduce",
    )
    page = context.new_page()
    said = watch(page)
    visit = open_visit(page, server, "41")
    page.get_by_role("heading", name="Find the recorder", level=2).wait_for()
    look_in_both_themes(page, "visit", kind)
    page.get_by_label("What there is to say").first.fill("behind the destination box")
    page.get_by_role("button", name="Done", exact=True).first.click()
    page.get_by_role("heading", name="Give it power", level=2).wait_for()
    page.get_by_label("Write down what you saw").fill("Seal was broken")
    page.get_by_role("button", name="Keep the note").click()
    expect(page.locator("#notes ~ ul").get_by_text("Seal was broken")).to_be_visible()
    step = page.locator(".step summary").filter(has_text="Close the visit")
    step.click()
    look_in_both_themes(page, "visit-later", kind)
    for name, path in (
        ("today", "/"),
        ("vehicles", "/vehicles"),
        ("vehicle", "/vehicles/41"),
        ("open", "/vehicles/41/open"),
        ("holds", "/vehicles/41/holds"),
        ("settings", "/settings"),
        ("error", "/visits/nobody"),
    ):
        page.goto(server.address + path)
        look_in_both_themes(page, name, kind)
    assert [line for line in said if "404" not in line] == []
    assert visit
    context.close()


def test_two_people_on_one_visit(browser: Browser, server: Server) -> None:
    laptop, phone = browser.new_context(), browser.new_context()
    one, two = laptop.new_page(), phone.new_page()
    address = open_visit(one, server, "305")
    two.goto(address)
    two.get_by_label("Write down what you saw").fill("I am typing this")
    one.get_by_role("button", name="Done", exact=True).first.click()
    one.get_by_role("heading", name="Give it power", level=2).wait_for()
    # Whoever types is told, and keeps what was typed.
    expect(two.get_by_text("changed by somebody else")).to_be_visible()
    two.locator("#by-note").fill("Bo")
    two.get_by_role("button", name="Keep the note").click()
    expect(two.get_by_role("alert")).to_contain_text("somebody else wrote")
    expect(two.get_by_label("Write down what you saw")).to_have_value("I am typing this")
    two.get_by_role("button", name="Keep the note").click()
    expect(two.get_by_role("alert")).to_have_count(0)
    # Whoever does not type sees it without pressing anything.
    expect(one.locator("#notes ~ ul").get_by_text("I am typing this")).to_be_visible()
    laptop.close()
    phone.close()


def test_a_killed_server_loses_nothing(browser: Browser, server: Server) -> None:
    context = browser.new_context()
    page = context.new_page()
    address = open_visit(page, server, "217")
    page.get_by_label("Write down what you saw").fill("typed while it was down")
    server.kill()
    page.get_by_role("button", name="Keep the note").click()
    expect(page.get_by_text("No connection to the laptop")).to_be_visible()
    expect(page.get_by_label("Write down what you saw")).to_have_value("typed while it was down")
    server.start()
    page.get_by_role("button", name="Keep the note").click()
    expect(page.locator("#notes ~ ul").get_by_text("typed while it was down")).to_be_visible()
    assert page.url == address
    context.close()


def test_everything_works_without_a_script(browser: Browser, server: Server) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    open_visit(page, server, "41")
    page.get_by_label("Write down what you saw").fill("No script here")
    page.get_by_role("button", name="Keep the note").click()
    expect(page.locator("#notes ~ ul").get_by_text("No script here")).to_be_visible()
    page.goto(f"{server.address}/settings")
    page.get_by_role("radio", name="dark").check()
    page.get_by_role("radio", name="Deutsch").check()
    page.get_by_role("button", name="Keep").click()
    expect(page.get_by_role("heading", name="Einstellungen")).to_be_visible()
    context.close()


def test_the_pairing_picture_can_be_scanned(browser: Browser, tmp_path: Path) -> None:
    laptop = Laptop(services(tmp_path), lan=True)
    code = laptop.server.pairing.new_code()
    page = browser.new_page()
    page.set_content(laptop.get("/devices/code.svg").text)
    shot = cv2.imdecode(np.frombuffer(page.screenshot(), np.uint8), cv2.IMREAD_GRAYSCALE)
    assert shot is not None
    # OpenCV's decoder knows nothing of the library that drew it.
    read, _, _ = cv2.QRCodeDetector().detectAndDecode(shot)
    assert read == f"http://{LAN}:{PORT}/pair#{code.text}"
    page.close()
