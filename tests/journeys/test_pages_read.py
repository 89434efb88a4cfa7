"""Photographs and doubts in a real browser: a phone that photographs, a laptop that watches, a
connection that breaks off, doubts by keyboard alone. Pictures go to build/screenshots."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Request, Route, expect
from tests.journeys.test_pages_visit import SIZES, Server, look, watch
from tests.pages_kit import free_port

from asfound.cli import wiring
from asfound.cli.home import Home
from asfound.demo import scenario
from asfound.demo.photos import Session, shoot
from asfound.demo.smear import smear
from asfound.demo.themes import TUNING_THEMES
from asfound.jobs.visit_act import TickStep, tick
from asfound.jobs.visit_open import OpenVisit, open_visit
from asfound.jobs.visit_read import ReadTools, VisitRead, visit_read
from asfound.model.visit import VisitState

READ_MS = 150_000
"""Patience of a test on a busy machine; no claim."""

PIECE = 512 * 1024
SEED = 5511


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Home:
    folder = tmp_path_factory.mktemp("home")
    (folder / "fleet.toml").write_bytes(scenario.FLEET_FILE.read_bytes())
    return Home(folder)


@pytest.fixture(scope="module")
def photos(home: Home, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Four pages of the demo's bus by their ids, with smears over two values."""
    recorder = home.fleet().vehicle(scenario.VEHICLE).recorder
    menu_map = home.menu_map(recorder.map_id)
    screen = scenario.as_found_screen(menu_map, recorder.firmware)
    pages = frozenset({"wires", "office", "channel-1", "channel-2"})
    session = Session(TUNING_THEMES[0], "clean", SEED, pages=pages)
    made = shoot(menu_map, screen, recorder.firmware, session, tmp_path_factory.mktemp("photos"))
    for number, field in enumerate(scenario.SMEARED):
        for photo in made:
            if field in photo.boxes:
                smear(photo, field, SEED + number)
    return {photo.page_id: photo.path for photo in made}


@pytest.fixture(scope="module")
def visit(home: Home) -> str:
    fleet = home.fleet()
    vehicle = fleet.vehicle(scenario.VEHICLE)
    request = OpenVisit(
        vehicle, fleet.name, fleet.time_zone, home.procedure(scenario.PROCEDURE),
        home.menu_map(vehicle.recorder.map_id), scenario.TECHNICIAN,
    )  # fmt: skip
    desk = home.desk()
    made = open_visit(request, store=desk.store, blobs=desk.blobs, clock=desk.clock).id
    for step in ("locate", "power", "monitor"):
        tick(TickStep(made, step, scenario.TECHNICIAN), desk=desk)
    return made


@pytest.fixture(scope="module")
def server(home: Home, visit: str) -> Iterator[Server]:
    made = Server(home.path, free_port())
    made.start()
    yield made
    made.kill()


def seat(browser: Browser, server: Server, kind: str, scheme: str) -> BrowserContext:
    """A browser whose person has given a name already."""
    width, height = SIZES[kind]
    made = browser.new_context(
        viewport={"width": width, "height": height},
        color_scheme="dark" if scheme == "dark" else "light",
        has_touch=kind == "phone",
        locale="en-GB",
    )
    made.add_cookies([{"name": "asfound_name", "value": "Ines", "url": server.address}])
    return made


def stands(home: Home, visit: str) -> VisitState:
    return home.visit(visit)


@pytest.fixture
def doubtful(home: Home, visit: str, photos: dict[str, Path]) -> str:
    """The visit with the two pages read that the smears are on, whichever test ran before."""
    reading = stands(home, visit).as_found
    if reading is None or not {"wires", "office"} <= {photo.page for photo in reading.photos}:
        state = stands(home, visit)
        files = (photos["wires"], photos["office"])
        request = VisitRead(visit, home.visit_map(state), files, scenario.TECHNICIAN)
        tools = ReadTools(wiring.pictures(), wiring.ocr(), wiring.video())
        visit_read(request, desk=home.desk(), tools=tools)
    return visit


def test_what_the_phone_photographs_shows_on_the_laptop(
    browser: Browser, server: Server, visit: str, photos: dict[str, Path]
) -> None:
    with (
        seat(browser, server, "phone", "dark") as one,
        seat(browser, server, "laptop", "light") as two,
    ):
        phone, laptop = one.new_page(), two.new_page()
        said, also = watch(phone), watch(laptop)
        for page in (phone, laptop):
            page.goto(f"{server.address}/visits/{visit}/read")
        look(laptop, "read-empty", "laptop", "light")
        laptop.evaluate("window.untouched = true")
        phone.set_input_files("#take-one", [photos["wires"], photos["office"]])
        for title in ("Wires in and out", "Office"):
            there = laptop.locator(".photos .photo").filter(has_text=title)
            expect(there.locator(".chip.good")).to_be_visible(timeout=READ_MS)
        assert laptop.evaluate("window.untouched"), "nobody pressed reload"
        expect(laptop.get_by_text("Still missing: 13 of 15 pages")).to_be_visible()
        expect(phone.locator("#sending li")).to_have_count(0)
        look(phone, "read", "phone", "dark")
        look(laptop, "read", "laptop", "light")
        laptop.locator(".photos a").filter(has_text="Office").click()
        expect(laptop.locator("svg .box").first).to_be_visible()
        look(laptop, "photograph", "laptop", "light")
        phone.goto(laptop.url)
        look(phone, "photograph", "phone", "dark")
        assert said == also == []


def test_an_upload_that_breaks_off_goes_on_where_it_was(
    browser: Browser, server: Server, visit: str, photos: dict[str, Path], home: Home
) -> None:
    path = photos["channel-1"]
    assert path.stat().st_size > PIECE, "the photograph has more than one piece"
    sent: list[int] = []
    with seat(browser, server, "phone", "light") as context:
        phone = context.new_page()
        phone.goto(f"{server.address}/visits/{visit}/read")
        cut = iter([False, True])

        def pieces(route: Route, request: Request) -> None:
            if request.method == "PATCH":
                sent.append(int(request.headers["upload-offset"]))
                if next(cut, False):
                    route.abort("connectionfailed")
                    return
            route.continue_()

        phone.route("**/api/v1/visits/*/uploads/*", pieces)
        phone.set_input_files("#choose", path)
        there = phone.locator(".photos .photo").filter(has_text="Channel 1")
        expect(there.locator(".chip.good")).to_be_visible(timeout=READ_MS)
        assert sent[:3] == [0, PIECE, PIECE], "it went on, and nothing was sent twice"
        # Without a connection the photograph is kept, also when the page is closed.
        context.set_offline(True)
        phone.set_input_files("#choose", photos["channel-2"])
        expect(phone.locator("#sending")).to_contain_text("waits for the connection")
        look(phone, "read-away", "phone", "light")
        phone.close()
        context.set_offline(False)
        again = context.new_page()
        again.goto(f"{server.address}/visits/{visit}/read")
        there = again.locator(".photos .photo").filter(has_text="Channel 2")
        expect(there.locator(".chip.good")).to_be_visible(timeout=READ_MS)
    reading = stands(home, visit).as_found
    assert reading is not None
    names = [photo.page for photo in reading.photos]
    assert names.count("channel-1") == names.count("channel-2") == 1


def test_doubts_by_keyboard_alone(
    browser: Browser, server: Server, doubtful: str, home: Home
) -> None:
    visit = doubtful
    with (
        seat(browser, server, "laptop", "dark") as one,
        seat(browser, server, "phone", "light") as two,
    ):
        page, phone = one.new_page(), two.new_page()
        for at in (page, phone):
            at.goto(f"{server.address}/visits/{visit}/doubts")
        asked = page.locator("#asked")
        first = asked.inner_text()
        look(page, "doubts", "laptop", "dark")
        look(phone, "doubts", "phone", "light")
        expect(page.locator(".ask")).to_be_focused()
        page.wait_for_timeout(400)
        page.keyboard.press("s")
        expect(asked).not_to_have_text(first)
        expect(page.locator(".ask")).to_be_focused()
        page.wait_for_timeout(400)
        page.keyboard.press("u")
        expect(asked).to_have_text(first)
        page.wait_for_timeout(400)
        page.keyboard.press("t")
        expect(page.locator("#text")).to_be_focused()
        page.keyboard.press("Escape")
        before = len(stands(home, visit).settled)
        if page.locator(".do-offers button").count():
            page.keyboard.press("1")
        else:
            page.keyboard.press("s")
        expect(asked).not_to_have_text(first)
        page.wait_for_timeout(400)
        assert len(stands(home, visit).settled) == before + 1
        # Who looks at the same doubt elsewhere is told, and nothing changes under the finger.
        expect(phone.get_by_text("Somebody else settled this")).to_be_visible()
        expect(phone.locator("#asked")).to_have_text(first)
        phone.locator(".do-skip button").click()
        expect(phone.locator("#asked")).not_to_have_text(first)
        page.keyboard.press("u")
        expect(asked).to_have_text(first)
        assert len(stands(home, visit).settled) == before
