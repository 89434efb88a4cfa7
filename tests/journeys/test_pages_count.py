"""The hours on disk counted from the proof's page in a browser, with a log and with typed hours.

axe-core (MPL 2.0, from its package) looks at the page.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from urllib.parse import quote

import pytest
from playwright.sync_api import Browser, BrowserContext, expect
from tests.journeys.test_pages_visit import READY_S, SIZES, Server, look, watch
from tests.pages_kit import free_port
from tests.proof_visit import BY, ready_to_prove, short_drive

from asfound.cli.home import home_at
from asfound.demo.scenario import FLEET_FILE

START = datetime(2026, 11, 25, 19, 0, tzinfo=UTC)
COUNTED_MS = 120_000


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The proof's page of a visit whose recordings lie in a named folder."""
    home, drive = tmp_path_factory.mktemp("home"), tmp_path_factory.mktemp("drive")
    (home / "fleet.toml").write_bytes(FLEET_FILE.read_bytes())
    visit = ready_to_prove(home_at(home))
    short_drive(drive / "evening", START, cameras=2)
    made = Server(home, free_port(), ("--recordings", f"{drive}=Bus drive"))
    made.start()
    yield f"{made.address}/visits/{visit}/proof"
    made.kill()


def seat(browser: Browser, address: str, kind: str, script: bool = True) -> BrowserContext:
    width, height = SIZES[kind]
    context = browser.new_context(
        viewport={"width": width, "height": height}, locale="en-GB", java_script_enabled=script
    )
    origin = address.partition("/visits")[0]
    context.add_cookies([{"name": "asfound_name", "value": quote(BY), "url": origin}])
    return context


@pytest.mark.parametrize("kind", ["laptop", "phone"])
def test_hours_are_counted_against_a_log(
    browser: Browser, address: str, kind: str, tmp_path: Path
) -> None:
    log = tmp_path / f"log-{kind}.csv"
    log.write_text("on,off\n2026-11-25T19:00:00Z,2026-11-25T19:00:12Z\n", encoding="utf-8")
    context = seat(browser, address, kind)
    page = context.new_page()
    said = watch(page)
    page.goto(address)
    page.locator("summary").filter(has_text="Choose what to count").click()
    page.locator("summary").filter(has_text="Burned-in clocks and aim").click()
    look(page, "proof-options", kind, "light")
    page.get_by_label("Folder to count").select_option(label="evening")
    page.get_by_label("File", exact=True).set_input_files(log)
    page.get_by_role("button", name="Count them").click()
    # Nobody presses anything: the page shows the count by itself when it is there.
    expect(page.get_by_text(f"held against ignition log {log.name}")).to_be_visible(
        timeout=COUNTED_MS
    )
    # Both cameras of the simulator recorded the whole drive; the bus has more than two.
    expect(page.get_by_text("nothing on disk").first).to_be_visible()
    look(page, "proof-counted", kind, "light")
    assert said == []
    context.close()


def test_a_mistake_is_said_and_what_was_typed_stays(browser: Browser, address: str) -> None:
    context = seat(browser, address, "laptop")
    page = context.new_page()
    page.goto(address)
    page.locator("summary").filter(has_text="Choose what to count").click()
    page.get_by_role("radio", name="these hours").check()
    page.get_by_label("Days promised").fill("many")
    page.get_by_role("button", name="Count them").click()
    expect(page.get_by_role("alert")).to_contain_text("no number of days")
    expect(page.get_by_label("Days promised")).to_have_value("many")
    expect(page.get_by_role("radio", name="these hours")).to_be_checked()
    context.close()


def test_hours_that_are_typed_count_without_a_script(browser: Browser, address: str) -> None:
    context = seat(browser, address, "phone", script=False)
    page = context.new_page()
    page.goto(address)
    page.locator("summary").filter(has_text="Choose what to count").click()
    page.get_by_label("Folder to count").select_option(label="evening")
    page.get_by_role("radio", name="these hours").check()
    with page.expect_navigation():
        page.get_by_role("button", name="Count them").click()
    counted = page.get_by_text("held against schedule")
    end = time.monotonic() + READY_S
    while not counted.count() and time.monotonic() < end:
        page.goto(address)
        time.sleep(0.3)
    expect(counted.first).to_be_visible()
    context.close()
