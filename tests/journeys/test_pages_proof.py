"""Recordings looked at and their proof shown, in a real browser: phone and laptop, light and
dark."""

from __future__ import annotations

import time
from collections.abc import Iterator
from datetime import UTC, datetime

import pytest
from playwright.sync_api import Browser, expect
from tests.journeys.test_pages_visit import READY_S, SIZES, Server, look, watch
from tests.pages_kit import free_port
from tests.proof_visit import ready_to_prove, short_drive

from asfound.cli.home import home_at
from asfound.demo.scenario import FLEET_FILE

START = datetime(2026, 11, 25, 19, 0, tzinfo=UTC)
PROVED_MS = 240_000


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The proof's page of a visit whose recordings lie in a named folder."""
    home, drive = tmp_path_factory.mktemp("home"), tmp_path_factory.mktemp("drive")
    (home / "fleet.toml").write_bytes(FLEET_FILE.read_bytes())
    visit = ready_to_prove(home_at(home))
    short_drive(drive / "evening", START)
    made = Server(home, free_port(), ("--recordings", f"{drive}=Bus drive"))
    made.start()
    yield f"{made.address}/visits/{visit}"
    made.kill()


def test_a_drive_is_looked_at_and_its_proof_shown(browser: Browser, address: str) -> None:
    width, height = SIZES["laptop"]
    context = browser.new_context(viewport={"width": width, "height": height}, locale="en-GB")
    page = context.new_page()
    said = watch(page)
    page.goto(address)
    page.get_by_role("link", name="Proof", exact=True).first.click()
    look(page, "proof-before", "laptop", "light")
    page.get_by_label("Folder with the recordings").select_option(label="evening")
    page.locator("#by-look").fill("Ines Okafor")
    page.get_by_role("button", name="Look at them").click()
    under_way = page.get_by_role("heading", name="Looking at recordings")
    proved = page.get_by_role("heading", name="There are faults.")
    expect(under_way.or_(proved).first).to_be_visible(timeout=PROVED_MS)
    look(page, "proof-running", "laptop", "light")
    # Nobody presses anything: the page shows the proof by itself.
    proved.wait_for(timeout=PROVED_MS)
    expect(page.get_by_role("heading", name="picture stands still")).to_be_visible()
    assert said == []
    context.close()
    for kind, (width, height) in SIZES.items():
        for scheme in ("light", "dark"):
            context = browser.new_context(
                viewport={"width": width, "height": height},
                color_scheme="light" if scheme == "light" else "dark",
                locale="en-GB",
            )
            page = context.new_page()
            said = watch(page)
            page.goto(f"{address}/proof")
            page.evaluate("for (const shown of document.images) shown.loading = 'eager'")
            page.wait_for_load_state("load")
            look(page, "proof", kind, scheme)
            page.get_by_role("link", name="Picture of finding").first.click()
            expect(page.get_by_role("dialog")).to_be_visible()
            page.keyboard.press("ArrowRight")
            expect(page.get_by_role("dialog", name="Picture at")).to_be_visible()
            page.get_by_role("button", name="Close the picture").click()
            expect(page.get_by_role("dialog")).to_have_count(0)
            assert said == []
            context.close()


def test_without_a_script_a_look_begins_and_stops(browser: Browser, address: str) -> None:
    context = browser.new_context(java_script_enabled=False, locale="en-GB")
    page = context.new_page()
    page.goto(f"{address}/proof")
    page.get_by_label("Folder with the recordings").select_option(label="everything in Bus drive")
    if page.locator("#by-look").count():
        page.locator("#by-look").fill("Ines Okafor")
    with page.expect_navigation():
        page.get_by_role("button", name="Look at them").click()
    ended = page.get_by_text("Looking was stopped").or_(page.get_by_label("Folder with"))
    if page.get_by_role("button", name="Stop").count():
        with page.expect_navigation():
            page.get_by_role("button", name="Stop").click()
    end = time.monotonic() + READY_S
    while not ended.count() and time.monotonic() < end:
        # Without a script the page is loaded again, here by its address: its link may be gone.
        page.goto(f"{address}/proof")
        time.sleep(0.3)
    expect(ended.first).to_be_visible()
    context.close()
