"""A clip of the menu sent by pages: the connection breaks off and the server is killed on the way,
it goes on where it was, its sharp frames are read, and its bytes are gone afterwards."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Request, Route, expect
from tests.journeys.test_pages_visit import SHOTS, Server
from tests.pages_kit import free_port, look_everywhere, seat
from tests.worked_visit import fleet_home

from asfound.cli.home import Home
from asfound.demo import scenario
from asfound.demo.clip import Filming, film
from asfound.demo.themes import TUNING_THEMES
from asfound.jobs.visit_act import TickStep, tick
from asfound.jobs.visit_open import OpenVisit, open_visit
from asfound.ports.backends.uploads_files import FileUploads

READ_MS = 300_000
"""Patience of a test on a busy machine; no claim."""

PIECE = 512 * 1024
PAGES = ("wires", "office")


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return fleet_home(tmp_path)


@pytest.fixture
def server(home: Home) -> Iterator[Server]:
    made = Server(home.path, free_port())
    made.start()
    yield made
    made.kill()


@pytest.fixture
def visit(home: Home) -> str:
    fleet, desk = home.fleet(), home.desk()
    vehicle = fleet.vehicle(scenario.VEHICLE)
    request = OpenVisit(
        vehicle, fleet.name, fleet.time_zone, home.procedure(scenario.PROCEDURE),
        home.menu_map(vehicle.recorder.map_id), scenario.TECHNICIAN,
    )  # fmt: skip
    made = open_visit(request, store=desk.store, blobs=desk.blobs, clock=desk.clock).id
    for step in ("locate", "power", "monitor"):
        tick(TickStep(made, step, scenario.TECHNICIAN), desk=desk)
    return made


def test_a_clip_goes_on_after_a_break_and_a_killed_server(
    browser: Browser, home: Home, server: Server, visit: str, tmp_path: Path
) -> None:
    recorder = home.fleet().vehicle(scenario.VEHICLE).recorder
    menu_map = home.menu_map(recorder.map_id)
    screen = scenario.as_found_screen(menu_map, recorder.firmware)
    filming = Filming(TUNING_THEMES[0], "clean", 31, page_s=1.6)
    clip = film(menu_map, screen, recorder.firmware, PAGES, filming, tmp_path / "menu.mp4")
    size = clip.path.stat().st_size
    assert size > PIECE, "the clip has more than one piece"
    sent: list[int] = []
    with seat(browser, "phone", "dark", "Ines", server.address) as context:
        phone = context.new_page()
        phone.goto(f"{server.address}/visits/{visit}/read")

        def pieces(route: Route, request: Request) -> None:
            if request.method == "PATCH":
                sent.append(int(request.headers["upload-offset"]))
                if len(sent) == 2:
                    # The second piece: the laptop is gone in the middle of it.
                    server.kill()
            route.continue_()

        phone.route("**/api/v1/visits/*/uploads/*", pieces)
        phone.set_input_files("#take-one", clip.path)
        waits = phone.locator("#sending li").filter(has_text="waits for the connection")
        expect(waits).to_be_visible(timeout=READ_MS)
        faults = look_everywhere(phone, "clip-away", SHOTS / "clips")
        server.start()
        for name in PAGES:
            title = menu_map.page(name).title
            there = phone.locator(".photos .photo").filter(has_text=title)
            expect(there.locator(".chip.good").first).to_be_visible(timeout=READ_MS)
        expect(phone.locator("#sending li")).to_have_count(0)
        faults += look_everywhere(phone, "clip", SHOTS / "clips")
        assert not faults, "\n".join(faults)
    assert sent[:2] == [0, PIECE] and sent[2] == PIECE, sent
    assert all(before <= after for before, after in pairwise(sent)), "nothing was sent anew"
    reading = home.visit(visit).as_found
    assert reading is not None
    values = reading.sure_values()
    truth = {name: value for page in clip.truth.values() for name, value in page.items()}
    wrong = {name for name in values if name in truth and values[name] != truth[name]}
    assert not wrong, "a value that is sure is right"
    assert sum(name in values for name in truth) >= len(truth) // 2
    # Clips show passwords in clear: once its frames were read, the clip itself is deleted.
    uploads = FileUploads(home.path / "uploads")
    (upload,) = uploads.of(visit)
    assert (upload.state, upload.received) == ("read", 0)
