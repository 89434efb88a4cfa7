"""A drive in a real browser: registered, pulled, handed over against a signature by finger, found
locked; nothing keeps anybody out (axe-core).
"""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
import uvicorn
from playwright.sync_api import Browser, expect
from tests.bundle_kit import Laptop, closed_visit
from tests.journeys.test_pages_visit import SHOTS
from tests.pages_kit import (
    free_port,
    look_everywhere,
    out_of_place,
    seat,
    settled,
    sign_by_finger,
)
from tests.visit_kit import SetClock, desk
from tests.worked_visit import fleet_home

from asfound.cli.home import Home
from asfound.cli.serve import LOOPBACK, pages_of
from asfound.jobs.holds import PlaceHold, place_hold
from asfound.jobs.visit_sign import SignVisit, sign_visit
from asfound.ports.backends.blobs_files import FileBlobs
from asfound.ports.backends.clock_system import SystemClock
from asfound.ports.backends.pictures_pillow import PillowPictures
from asfound.ports.backends.store_sql import SqlStore

READY_S = 60.0
SEEN_MS = 60_000
"""Patience of a test on a busy machine; no claim."""


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Home:
    return fleet_home(tmp_path_factory.mktemp("home"))


@pytest.fixture(scope="module")
def address(home: Home, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    port = free_port()
    bags = tmp_path_factory.mktemp("bags")
    app = pages_of(home, {}, [LOOPBACK], port, {"Stick": bags})
    config = uvicorn.Config(app, port=port, log_level="critical", timeout_graceful_shutdown=1)
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run)
    thread.start()
    end = time.monotonic() + READY_S
    while not server.started:
        assert thread.is_alive() and time.monotonic() < end
        time.sleep(0.05)
    yield f"http://localhost:{port}"
    app.state.server.hub.close()
    server.should_exit = True
    thread.join(READY_S)


def test_a_drive_changes_hands(browser: Browser, address: str) -> None:
    told: list[str] = []
    folder = SHOTS / "drives"
    with seat(browser, "phone", "light", "Ines Okafor", address) as context:
        context.set_default_timeout(SEEN_MS)
        page = context.new_page()
        page.goto(f"{address}/drives")
        page.get_by_role("link", name="Register a drive").first.click()
        page.get_by_label("Serial number", exact=True).fill("TL-55020-A")
        page.get_by_label("hard disk").check()
        page.get_by_label("Size", exact=True).fill("1 TB")
        page.get_by_label("Vehicle that it is fitted in").fill("217")
        page.get_by_role("button", name="Register it").click()
        expect(page.get_by_text("it is fitted in 217")).to_be_visible()
        told += look_everywhere(page, "drive-locked", folder)
        page.get_by_text("It came out of a vehicle").click()
        page.locator("#pulled-reason").fill("collision claim")
        page.get_by_role("button", name="It is out, and I have it").click()
        expect(page.get_by_text("pulled it from 217")).to_be_visible()
        page.get_by_text("Hand it over", exact=True).click()
        page.get_by_label("Who receives it").fill("Bo Lind")
        page.locator("#handed-reason").fill("to be copied")
        sign_by_finger(page)
        page.get_by_role("button", name="Handed over").click()
        expect(page.get_by_role("img", name="Signature of Bo Lind")).to_be_visible()
        page.evaluate("for (const one of document.querySelectorAll('details')) one.open = 1")
        told += look_everywhere(page, "drive", folder)
        for name, path in (("drives", "/drives"), ("drive-new", "/drives/new"),
                           ("bundles", "/bundles")):  # fmt: skip
            page.goto(address + path)
            told += look_everywhere(page, name, folder)
        context.add_cookies([{"name": "asfound_language", "value": "de", "url": address}])
        for name, path in (("drives", "/drives"), ("drive", "/drives/TL-55020-A"),
                           ("bundles", "/bundles")):  # fmt: skip
            page.goto(address + path)
            settled(page)
            told += out_of_place(page, f"de-{name}", "phone", "light", folder)
    assert not told, "\n".join(told)


def laptop(store: object, blobs: object) -> Laptop:
    assert isinstance(store, SqlStore) and isinstance(blobs, FileBlobs)
    return Laptop(store, blobs, SetClock(SystemClock().now()))


def test_notes_leave_and_what_is_set_aside_is_read(
    browser: Browser, home: Home, address: str, tmp_path: Path
) -> None:
    here, there = home.desk(), desk(tmp_path)
    one, other = laptop(here.store, here.blobs), laptop(there.store, there.blobs)
    visit = closed_visit(one)
    one.export(tmp_path / "first", visit)
    other.take(tmp_path / "first")
    for at, name in ((one, "Ines Okafor"), (other, "Jonas Reyl")):
        sign_visit(SignVisit(visit, name, "witness"), desk=at.desk, pictures=PillowPictures())
    other.export(tmp_path / "second", visit)
    assert one.take(tmp_path / "second").merged.forks
    now, vehicle = one.clock.now(), home.fleet().vehicle("217")
    order = PlaceHold(vehicle, now - timedelta(hours=2), now - timedelta(hours=1), "claim", "Ines")
    place_hold(order, store=here.store, clock=one.clock)
    told: list[str] = []
    with seat(browser, "laptop", "dark", "Ines Okafor", address) as context:
        context.set_default_timeout(SEEN_MS)
        page = context.new_page()
        page.goto(f"{address}/bundles")
        page.locator("summary", has_text=visit).click()
        expect(page.get_by_text("signed the visit")).to_be_visible()
        page.get_by_role("radio", name="Notes").check()
        page.get_by_label("Name of the bag").fill("notes of today")
        page.get_by_role("button", name="Pack and sign").click()
        expect(page.get_by_text("Notes, no visit.")).to_be_visible()
        page.locator("summary", has_text=visit).click()
        told += look_everywhere(page, "aside", SHOTS / "drives")
    assert not told, "\n".join(told)
