"""What somebody typed or took is never lost: other forms of a page, a session or file that is
refused; and long words stay inside a phone's screen."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect
from tests.journeys.test_pages_visit import Server, open_visit
from tests.pages_kit import free_port
from tests.worked_visit import fleet_home

from asfound.demo.scenario import VEHICLE


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    fleet_home(tmp_path)
    made = Server(tmp_path, free_port())
    made.start()
    yield made
    made.kill()


@pytest.fixture
def phone(browser: Browser, server: Server) -> Iterator[Page]:
    context = browser.new_context(locale="en-GB", viewport={"width": 390, "height": 844})
    page = context.new_page()
    open_visit(page, server, VEHICLE)
    yield page
    context.close()


def test_text_in_another_form_of_the_page_stays(phone: Page) -> None:
    note = phone.get_by_label("Write down what you saw")
    note.fill("bracket is loose")
    step = phone.locator(".plate.now").get_by_label("What there is to say about it")
    step.fill("level ground")
    phone.locator(".plate.now").get_by_role("button", name="Done").click()
    expect(phone.locator("#now-title")).to_have_text("Give it power")
    expect(note).to_have_value("bracket is loose")
    step.fill("isolator on")
    phone.get_by_role("button", name="Keep the note").click()
    expect(phone.locator("li").filter(has_text="bracket is loose").first).to_be_visible()
    expect(step).to_have_value("isolator on")
    expect(note).to_have_value("")


def test_a_session_that_is_gone_takes_no_text_along(phone: Page) -> None:
    note = phone.get_by_label("Write down what you saw")
    note.fill("lens is scratched")
    token = phone.locator("input[name=csrf]").first
    old = token.input_value()
    phone.context.clear_cookies()
    phone.get_by_role("button", name="Keep the note").click()
    expect(phone.locator("form [role=alert]")).to_be_focused()
    expect(note).to_have_value("lens is scratched")
    expect(token).not_to_have_value(old)
    phone.get_by_role("button", name="Keep the note").click()
    # Whose session it was is forgotten: the name is asked for again, the text is still there.
    expect(note).to_have_value("lens is scratched")
    form = phone.locator("form").filter(has=note)
    form.get_by_label("Your name").fill("Ines Okafor")
    phone.get_by_role("button", name="Keep the note").click()
    expect(phone.locator("li").filter(has_text="lens is scratched").first).to_be_visible()


def test_a_file_that_is_refused_waits_until_it_is_put_aside(phone: Page, tmp_path: Path) -> None:
    page = tmp_path / "letter.jpg"
    page.write_text("no picture at all\n" * 40)
    for title in ("Give it power", "Plug in the monitor", "Photograph every page as found"):
        phone.locator(".plate.now").get_by_role("button", name="Done").click()
        expect(phone.locator("#now-title")).to_have_text(title)
    phone.get_by_role("link", name="Photographs").first.click()
    expect(phone.locator("h1")).to_contain_text("Photographs")
    phone.locator("#choose").set_input_files(page)
    row = phone.locator("#sending li").filter(has_text="letter.jpg")
    expect(row.get_by_text("not taken")).to_be_visible()
    phone.reload()
    expect(row.get_by_text("not taken")).to_be_visible()
    row.get_by_role("button", name="Send again").click()
    expect(row.get_by_text("not taken")).to_be_visible()
    row.get_by_role("button", name="Put aside").click()
    expect(row).to_have_count(0)
    phone.reload()
    expect(phone.locator("h1")).to_be_visible()
    expect(row).to_have_count(0)


def test_a_word_without_end_stays_inside_the_screen(phone: Page) -> None:
    phone.get_by_label("Write down what you saw").fill("x" * 1900)
    phone.get_by_role("button", name="Keep the note").click()
    expect(phone.locator("li").filter(has_text="xxxxx").first).to_be_visible()
    assert phone.evaluate("document.documentElement.scrollWidth") <= 390
