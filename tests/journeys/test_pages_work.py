"""Re-key sheet, comparison and signed report in a real browser: a phone and a laptop on one visit.

axe-core (MPL 2.0, from its package) looks at every page.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Literal

import pypdfium2
import pytest
from playwright.sync_api import Browser, BrowserContext, expect
from tests.journeys.test_pages_visit import SIZES, Server, look, watch
from tests.pages_kit import free_port, sign_by_mouse
from tests.worked_visit import fleet_home, up_to_keys, up_to_slips

Scheme = Literal["light", "dark"]


@pytest.fixture(scope="module")
def visits(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Server, str, str]]:
    """The pages over two visits: one to be keyed in, one that was keyed in with slips."""
    folder = tmp_path_factory.mktemp("home")
    home = fleet_home(folder)
    to_key, keyed = up_to_keys(home), up_to_slips(home)
    server = Server(folder, free_port())
    server.start()
    yield server, to_key, keyed
    server.kill()


def seat(browser: Browser, server: Server, kind: str, scheme: Scheme, name: str) -> BrowserContext:
    width, height = SIZES[kind]
    context = browser.new_context(
        viewport={"width": width, "height": height}, color_scheme=scheme, locale="en-GB"
    )
    context.add_cookies([{"name": "asfound_name", "value": name, "url": server.address}])
    return context


def test_what_the_phone_ticks_the_laptop_shows(
    browser: Browser, visits: tuple[Server, str, str]
) -> None:
    server, visit, _ = visits
    phone = seat(browser, server, "phone", "dark", "Ines")
    laptop = seat(browser, server, "laptop", "light", "Bo")
    one, two = phone.new_page(), laptop.new_page()
    said = watch(one) + watch(two)
    address = f"{server.address}/visits/{visit}/rekey"
    two.goto(f"{address}?layout=pages")
    one.goto(address)
    look(one, "rekey", "phone", "dark")
    shown = one.locator(".key-row[data-now]")
    first = shown.get_attribute("id")
    # The keyboard alone: the button has the focus, space ticks and goes on to the next.
    expect(shown.get_by_role("button")).to_be_focused()
    one.keyboard.press("Space")
    expect(shown).not_to_have_id(first or "")
    expect(shown.get_by_role("button")).to_be_focused()
    row = two.locator(f"#{first}")
    expect(row).to_contain_text("Ines")
    expect(row.get_by_role("button", name="Take back")).to_be_visible()
    expect(two.locator("[data-done]")).to_have_text("1")
    look(two, "rekey-pages", "laptop", "light")
    # Without the server ticks are kept on the phone, and sent when it is there again.
    server.kill()
    second = shown.get_attribute("id")
    one.keyboard.press("Enter")
    expect(one.locator("[data-done]")).to_have_text("2")
    expect(one.get_by_text("No connection to the laptop")).to_be_visible()
    server.start()
    expect(two.locator(f"#{second}")).to_contain_text("Ines", timeout=15_000)
    # The browser is closed and opened again: it goes on where it stood.
    one.close()
    again = phone.new_page()
    again.goto(address)
    expect(again.locator("[data-done]")).to_have_text("2")
    expect(again.locator(".key-row[data-now] .key-head .figure")).to_have_text("3")
    again.emulate_media(media="print")
    assert again.locator(".key-row").count() > 40
    expect(again.locator(".key-row").nth(20)).to_be_visible()
    assert said == []
    phone.close()
    laptop.close()


@pytest.mark.parametrize(("kind", "scheme"), [("phone", "light"), ("laptop", "dark")])
def test_compared_signed_and_in_the_pdf(
    browser: Browser,
    visits: tuple[Server, str, str],
    kind: str,
    scheme: Scheme,
    tmp_path: Path,
) -> None:
    server, _, visit = visits
    context = seat(browser, server, kind, scheme, "Ines%20Okafor")
    page = context.new_page()
    said = watch(page)
    page.goto(f"{server.address}/visits/{visit}")
    tabs = page.get_by_role("navigation", name="Pages of the visit")
    tabs.get_by_role("link", name="Compare").click()
    expect(page.get_by_role("heading", name="8 settings are open")).to_be_visible()
    page.get_by_text("As agreed").last.click()
    look(page, "compare", kind, scheme)
    page.get_by_role("button", name="Compare anew").click()
    expect(page.get_by_role("heading", name="8 settings are open")).to_be_visible()
    tabs.get_by_role("link", name="Report").click()
    expect(page.get_by_role("img", name=re.compile("^Page 1 of"))).to_be_visible(timeout=20_000)
    page.get_by_role("radio", name="for the operator").check()
    name = f"Rosa Lint {kind}"
    page.get_by_label("Name", exact=True).fill(name)
    sign_by_mouse(page)
    look(page, "report", kind, scheme)
    page.get_by_role("button", name="Sign", exact=True).click()
    expect(page.get_by_role("img", name=f"Signature of {name}")).to_be_visible()
    look(page, "report-signed", kind, scheme)
    with page.expect_download() as fetched:
        page.get_by_role("link", name="Fetch the PDF").click()
    target = tmp_path / "report.pdf"
    fetched.value.save_as(target)
    document = pypdfium2.PdfDocument(target)
    text = " ".join(sheet.get_textpage().get_text_range() for sheet in document)
    document.close()
    assert name in text and "signed as it stands here" in text
    assert said == []
    context.close()
