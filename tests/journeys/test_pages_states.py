"""Two devices and one visit, and what pages show when there is nothing, when somebody comes back
to them, and when the laptop cannot be reached."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect
from tests.journeys.test_pages_visit import Server, open_visit, watch
from tests.pages_kit import free_port
from tests.worked_visit import fleet_home

from asfound.demo.scenario import VEHICLE

HIDE = "Object.defineProperty(document, 'visibilityState', {configurable: true, get: () => '%s'})"
CHANGE = "document.dispatchEvent(new Event('visibilitychange'))"


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    folder = tmp_path_factory.mktemp("home")
    fleet_home(folder)
    made = Server(folder, free_port())
    made.start()
    yield made
    made.kill()


def come_back(page: Page) -> None:
    """The page was in the background of a phone, and is looked at again."""
    page.evaluate(HIDE % "hidden")
    page.evaluate(CHANGE)
    page.evaluate(HIDE % "visible")
    page.evaluate(CHANGE)


def test_a_hold_from_the_office_shows_at_the_recorder(browser: Browser, server: Server) -> None:
    phone, laptop = browser.new_context(locale="en-GB"), browser.new_context(locale="en-GB")
    one, two = phone.new_page(), laptop.new_page()
    said = watch(one)
    open_visit(one, server, VEHICLE)
    expect(one.locator(".banner").filter(has_text="claim 4711")).to_have_count(0)
    two.goto(f"{server.address}/vehicles/{VEHICLE}/holds")
    two.locator("#start").fill("2026-11-25T08:00")
    two.locator("#end").fill("2026-11-25T09:00")
    two.locator("textarea[name=reason], input[name=reason]").first.fill("claim 4711")
    two.locator("input[name=by]").first.fill("Office")
    two.get_by_role("button", name="Place the hold").click()
    # Nobody presses anything on the phone.
    expect(one.locator(".banner").filter(has_text="claim 4711")).to_be_visible()
    two.locator("summary").filter(has_text="Release").first.click()
    two.locator("details[open] [name=reason]").first.fill("copied")
    two.get_by_role("button", name="Release with this reason").click()
    expect(one.locator(".banner").filter(has_text="claim 4711")).to_have_count(0)
    assert said == []
    phone.close()
    laptop.close()


def test_who_comes_back_to_a_page_sees_what_is_new(browser: Browser, server: Server) -> None:
    phone, laptop = browser.new_context(locale="en-GB"), browser.new_context(locale="en-GB")
    one, two = phone.new_page(), laptop.new_page()
    one.goto(f"{server.address}/vehicles/41")
    expect(one.get_by_text("No visit yet.")).to_be_visible()
    open_visit(two, server, "41")
    come_back(one)
    expect(one.get_by_role("link", name="Go on with the open visit")).to_be_visible()
    # What is being typed is not taken away.
    one.goto(f"{server.address}/vehicles/41/holds")
    one.locator("textarea[name=reason], input[name=reason]").first.fill("half a sent")
    come_back(one)
    one.wait_for_timeout(500)
    expect(one.locator("textarea[name=reason], input[name=reason]").first).to_have_value(
        "half a sent"
    )
    phone.close()
    laptop.close()


@pytest.mark.parametrize("path", ["/", "/vehicles", "/vehicles/41", "/vehicles/41/settings"])
def test_a_page_says_when_the_laptop_is_gone_and_when_it_is_back(
    browser: Browser, server: Server, path: str
) -> None:
    context = browser.new_context(locale="en-GB")
    page = context.new_page()
    page.goto(server.address + path)
    banner = page.get_by_text("No connection to the laptop")
    expect(banner).to_be_hidden()
    server.kill()
    come_back(page)
    expect(banner).to_be_visible()
    server.start()
    come_back(page)
    expect(banner).to_be_hidden()
    context.close()


def test_pages_of_a_fleet_file_that_is_wrong_can_be_tried_again(
    browser: Browser, server: Server
) -> None:
    file = Path(server.home) / "fleet.toml"
    good = file.read_bytes()
    context = browser.new_context(locale="en-GB")
    page = context.new_page()
    try:
        file.write_text("format = 3\n", encoding="utf-8")
        page.goto(f"{server.address}/vehicles")
        expect(page.get_by_text("fleet.toml:1: format")).to_be_visible()
    finally:
        file.write_bytes(good)
    page.get_by_role("link", name="Try again").click()
    expect(page.get_by_role("heading", name="Vehicles")).to_be_visible()
    context.close()
