"""Speed and clocks in a browser: logs that are sent, addresses that can be shared, in both sizes
and both themes, and without a script.

axe-core (MPL 2.0, from its package) looks at every page.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, FilePayload, expect
from tests.drive_logs import csv_of, gpx_of, pulses_of
from tests.journeys.test_pages_visit import Server
from tests.pages_kit import free_port, look_everywhere, seat
from tests.worked_visit import fleet_home

from simulated_drives import drive, pulse_counts, receiver, recorder

DRIVE = drive(1900, 20)
READINGS = "2026-03-01T08:00:00Z +2\n2026-03-31T08:00:00Z +28\n2026-04-30T08:00:00Z +54"


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """The pages over a fleet."""
    folder = tmp_path_factory.mktemp("home")
    fleet_home(folder)
    made = Server(folder, free_port())
    made.start()
    yield made
    made.kill()


def file(name: str, text: str) -> FilePayload:
    return {"name": name, "mimeType": "text/plain", "buffer": text.encode()}


TRACK = gpx_of(receiver(DRIVE, 1900, 0.0))
GPX = file("a-drive-with-a-name-that-does-not-end-anywhere-near-here.gpx", TRACK)
BROKEN = file("broken.gpx", TRACK[:50_000])
PULSES = file("pulses.csv", pulses_of(*pulse_counts(DRIVE, 1900, 8230)))
RECORDER = file("recorder.csv", csv_of(recorder(DRIVE, 1900, 258.0, (10, 1180))))


def test_speed_triggers(browser: Browser, server: Server) -> None:
    with seat(browser, "phone", "light") as context:
        page = context.new_page()
        page.goto(f"{server.address}/bench")
        page.get_by_role("link", name="Speed triggers").click()
        told = look_everywhere(page, "speed-empty")
        page.get_by_label("Logs of driving").set_input_files([GPX, BROKEN])
        page.get_by_label("Limit", exact=True).fill("quick")
        page.get_by_role("button", name="Count them").click()
        expect(page.get_by_role("alert")).to_contain_text("limit")
        expect(page.get_by_label("Limit", exact=True)).to_have_value("quick")
        page.get_by_label("Logs of driving").set_input_files([GPX, BROKEN])
        page.get_by_label("Limit", exact=True).fill("50km/h")
        page.get_by_label("Events a day at most").fill("2")
        page.get_by_role("button", name="Count them").click()
        expect(page.locator(".answer")).to_contain_text("events a day")
        expect(page.locator("figure.drawn svg")).to_be_visible()
        told += look_everywhere(page, "speed")
        assert told == []


def test_wheel_pulses(browser: Browser, server: Server) -> None:
    with seat(browser, "phone", "light") as context:
        page = context.new_page()
        page.goto(f"{server.address}/bench/speed/pulses")
        page.get_by_label("Pulse log").set_input_files(PULSES)
        page.get_by_label("Track of the same drive").set_input_files(GPX)
        page.get_by_label("Set in the recorder").fill("8000")
        page.get_by_label("Size on the tyre").fill("295/80R22.5")
        page.get_by_text("How the pulse log is written").click()
        page.get_by_label("Times of pulses").select_option("s")
        told = look_everywhere(page, "pulses-open")
        page.get_by_role("button", name="Work it out").click()
        expect(page.locator(".answer")).to_contain_text("pulses a km")
        told += look_everywhere(page, "pulses")
        assert told == []


def test_clocks(browser: Browser, server: Server) -> None:
    with seat(browser, "phone", "light") as context:
        page = context.new_page()
        page.goto(f"{server.address}/bench")
        page.get_by_role("link", name="Clock drift").click()
        page.get_by_label("Readings").fill(READINGS)
        page.get_by_label("It has to hold until").fill("2026-12-31")
        page.get_by_role("button", name="Work it out").click()
        expect(page.locator(".answer")).to_contain_text("+10.03 ppm")
        told = look_everywhere(page, "drift")
        page.get_by_role("link", name="Time zone").click()
        page.get_by_label("The fleet's zone").fill("Europe/Berlin")
        page.get_by_label("Year").fill("2026")
        page.get_by_label("The recorder is set to").fill("+01:00")
        page.get_by_label("Its daylight saving is that of").fill("America/New_York")
        page.get_by_role("button", name="Show the year").click()
        expect(page.locator(".answer")).to_contain_text("28.0 days")
        told += look_everywhere(page, "zone")
        page.get_by_role("link", name="Clock by two logs").click()
        page.get_by_label("The recorder's log").set_input_files(RECORDER)
        page.get_by_label("A log whose clock is right").set_input_files(GPX)
        page.get_by_text("How the recorder's log is written").click()
        page.get_by_label("Columns").first.fill("speed=v")
        page.get_by_role("button", name="Work it out").click()
        expect(page.locator(".answer")).to_contain_text("s ahead")
        told += look_everywhere(page, "match")
        assert told == []


def test_without_a_script(browser: Browser, server: Server) -> None:
    context = browser.new_context(java_script_enabled=False, locale="en-GB")
    page = context.new_page()
    page.goto(f"{server.address}/bench/speed")
    page.get_by_label("Logs of driving").set_input_files(GPX)
    page.get_by_label("Limit", exact=True).fill("50km/h")
    page.get_by_role("button", name="Count them").click()
    expect(page.locator(".answer")).to_contain_text("events a day")
    page.goto(f"{server.address}/bench/clock/zone?place=Europe/London&year=2026")
    expect(page.locator("main")).to_contain_text("comes twice")
    context.close()
