"""Every page in every state that a person can meet, in both sizes and both themes: nothing keeps
anybody out (axe-core, MPL 2.0, from its package), nothing is cut off, every target can be hit.

Pages of a visit with real photographs and recordings are looked at in test_pages_whole.py.
"""

from __future__ import annotations

import re
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import pytest
import uvicorn
from fastapi import FastAPI
from playwright.sync_api import Browser, FilePayload, Page, expect
from tests.journeys.test_pages_visit import SHOTS
from tests.pages_kit import free_port, look_everywhere, out_of_place, seat, settled
from tests.worked_visit import fleet_home, up_to_keys, up_to_slips

from asfound.cli.home import Home
from asfound.cli.serve import LOOPBACK, pages_of
from asfound.demo import scenario
from asfound.jobs.report_visit import report_pictures
from asfound.jobs.visit_act import AddNote, note
from asfound.jobs.visit_open import OpenVisit, open_visit
from asfound.web.pages import report
from asfound.web.routes import PAGES

READY_S = 60.0
SEEN_MS = 120_000
"""Patience of a test on a busy machine; no claim."""

ELSEWHERE = {
    "/visits/{visit}/photos/{photo}": "test_pages_whole.py",
    "/visits/{visit}/pictures/{photo}": "a picture",
    "/visits/{visit}/pictures/{photo}/{field}": "a picture",
    "/visits/{visit}/proof/pictures/{name}": "a picture",
    "/visits/{visit}/report/pages/{number}.png": "a picture",
    "/visits/{visit}/report.pdf": "a document",
    "/devices/code.svg": "a picture",
    "/bench": "test_pages_bench.py",
    "/bench/check": "test_pages_bench.py",
    "/bench/clock": "test_pages_speed.py",
    "/bench/clock/match": "test_pages_speed.py",
    "/bench/clock/zone": "test_pages_speed.py",
    "/bench/days": "test_pages_bench.py",
    "/bench/drive": "test_pages_drive.py",
    "/bench/drive/health": "test_pages_drive.py",
    "/bench/fault": "test_pages_fault.py",
    "/bench/leads": "test_pages_bench.py",
    "/bench/lens": "test_pages_bench.py",
    "/bench/power": "test_pages_power.py",
    "/bench/power/crank": "test_pages_power.py",
    "/bench/power/parked": "test_pages_power.py",
    "/bench/power/volts": "test_pages_power.py",
    "/bench/speed": "test_pages_speed.py",
    "/bench/speed/pulses": "test_pages_speed.py",
    "/bench/triggers": "test_pages_triggers.py",
    "/requests": "test_pages_requests.py",
    "/requests/new": "test_pages_requests.py",
    "/requests/deletions": "test_pages_requests.py",
    "/requests/{name}": "test_pages_requests.py",
    "/requests/{name}/copy": "test_pages_requests.py",
    "/evidence": "test_pages_requests.py",
    "/bundles": "test_pages_drives.py",
    "/drives": "test_pages_drives.py",
    "/drives/new": "test_pages_drives.py",
    "/drives/{name}": "test_pages_drives.py",
    "/drives/{name}/label.svg": "a picture",
    "/drives/{name}/label.pdf": "a document",
    "/drives/{name}/hands/{number}.jpg": "a picture",
    "/firmware": "test_pages_firmware.py",
    "/firmware/changes": "test_pages_firmware.py",
    "/firmware/choose": "test_pages_firmware.py",
    "/rollout": "test_pages_firmware.py",
    "/rollout/{name}": "test_pages_firmware.py",
    "/stick": "test_pages_firmware.py",
    "/stick/{key}": "test_pages_firmware.py",
    "/vehicles/{part}/place/{picture}.jpg": "a picture",
}
"""Addresses that are no page, or are looked at elsewhere."""


@dataclass(frozen=True)
class Place:
    """The pages of a home folder, open to a local network, reached on this machine; visits: just
    opened, to be keyed in, keyed in with slips."""

    address: str
    app: FastAPI
    home: Home
    fresh: str
    to_key: str
    slips: str


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Place]:
    home = fleet_home(tmp_path_factory.mktemp("home"))
    fresh, to_key, slips = _fresh(home), up_to_keys(home), up_to_slips(home)
    port = free_port()
    app = pages_of(home, {}, [LOOPBACK, LOOPBACK], port)

    @app.get("/fault")
    def fault() -> None:
        raise RuntimeError("a fault of ours, as the log tells it")

    config = uvicorn.Config(
        app, port=port, log_level="critical", timeout_graceful_shutdown=1, lifespan="on"
    )
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run)
    thread.start()
    end = time.monotonic() + READY_S
    while not server.started:
        assert thread.is_alive() and time.monotonic() < end
        time.sleep(0.05)
    yield Place(f"http://localhost:{port}", app, home, fresh, to_key, slips)
    app.state.server.hub.close()
    server.should_exit = True
    thread.join(READY_S)


def _fresh(home: Home) -> str:
    fleet, desk = home.fleet(), home.desk()
    vehicle = fleet.vehicle("41")
    request = OpenVisit(
        vehicle, fleet.name, fleet.time_zone, home.procedure(scenario.PROCEDURE),
        home.menu_map(vehicle.recorder.map_id), scenario.TECHNICIAN,
    )  # fmt: skip
    return open_visit(request, store=desk.store, blobs=desk.blobs, clock=desk.clock).id


@dataclass
class Looker:
    """Looks at pages and gathers what is wrong. ``seen``: addresses, as routes name them."""

    page: Page
    place: Place
    look: Callable[[Page, str], list[str]]
    told: list[str]
    seen: set[str]

    def go(self, route: str, name: str, **parts: str) -> None:
        """Opens the page of a route, and looks at it."""
        self.open(route, **parts)
        self(name)

    def open(self, route: str, query: str = "", **parts: str) -> None:
        """Opens the page of a route."""
        self.seen.add(route)
        path = re.sub(r"{(\w+)}", lambda hole: parts[hole[1]], route)
        self.page.goto(f"{self.place.address}{path}{query}")

    def __call__(self, name: str) -> None:
        self.told += self.look(self.page, name)


def everywhere(page: Page, name: str) -> list[str]:
    return look_everywhere(page, name, SHOTS / "pages")


def once(page: Page, name: str) -> list[str]:
    settled(page)
    return out_of_place(page, name, "phone", "light", SHOTS / "pages" / "de")


@pytest.mark.parametrize("named", [False, True], ids=["nobody yet", "somebody"])
def test_every_page_in_english(browser: Browser, place: Place, named: bool) -> None:
    with seat(browser, "phone", "light", "Ines Okafor" if named else "", place.address) as context:
        looker = Looker(context.new_page(), place, everywhere, [], set())
        if named:
            every_page(looker)
            states(looker)
            _nothing_left_out(looker.seen)
        else:
            forms_of_nobody(looker)
        assert not looker.told, "\n".join(looker.told)


def test_long_words_of_german_fit_a_phone(browser: Browser, place: Place) -> None:
    with seat(browser, "phone", "light", "Ines Okafor", place.address) as context:
        context.add_cookies([{"name": "asfound_language", "value": "de", "url": place.address}])
        looker = Looker(context.new_page(), place, once, [], set())
        every_page(looker)
        assert not looker.told, "\n".join(looker.told)


def test_a_large_report_is_waited_for_or_stopped(
    browser: Browser, place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    go = threading.Event()

    def slow(*asked: Any, **more: Any) -> tuple[bytes, ...]:
        assert go.wait(READY_S * 5)
        return report_pictures(*asked, **more)

    monkeypatch.setattr(report, "report_pictures", slow)
    # A state of the visit whose pages nobody made before.
    note(AddNote(place.fresh, "Bo", "written before the report", ""), desk=place.home.desk())
    with seat(browser, "phone", "dark", "Ines Okafor", place.address) as context:
        page = context.new_page()
        page.goto(f"{place.address}/visits/{place.fresh}/report")
        stop = page.locator("[data-task]").get_by_role("button", name="Stop")
        expect(stop).to_be_visible(timeout=SEEN_MS)
        told = look_everywhere(page, "report-making", SHOTS / "pages")
        stop.click()
        expect(page.get_by_text("was stopped")).to_be_visible(timeout=SEEN_MS)
        told += look_everywhere(page, "report-stopped", SHOTS / "pages")
        go.set()
        page.get_by_role("link", name="Make them").click()
        first = page.get_by_role("img", name=re.compile("^Page 1 of"))
        expect(first).to_be_visible(timeout=SEEN_MS)
        assert not told, "\n".join(told)


def _nothing_left_out(seen: set[str]) -> None:
    """A page that is added has to be looked at, too."""
    routes = {
        getattr(route, "path", "")
        for page in PAGES
        for route in page.router.routes
        if "GET" in getattr(route, "methods", ())
    }
    assert routes - seen - set(ELSEWHERE) == set()


def every_page(looker: Looker) -> None:
    """Each page once, with something in it."""
    place = looker.place
    for name in ("", "/open", "/holds", "/settings"):
        looker.go("/vehicles/{part}" + name, f"vehicle{name.replace('/', '-')}", part="217")
    for route in ("/", "/vehicles", "/settings", "/devices", "/pair"):
        looker.go(route, route.strip("/") or "today")
    for name, visit in (("fresh", place.fresh), ("to-key", place.to_key), ("slips", place.slips)):
        for end in ("", "/read", "/doubts", "/rekey", "/compare", "/proof", "/secrets", "/report"):
            looker.go("/visits/{visit}" + end, f"{name}{end.replace('/', '-')}", visit=visit)
    looker.go("/visits/{visit}/report/preview", "preview", visit=place.slips)


def states(looker: Looker) -> None:
    """What is only there when something went wrong, is empty, or is under way."""
    page, place = looker.page, looker.place
    for name, query in (("none", "?q=nobody"), ("filtered", "?depot=Saltmarsh+Lane&open=1")):
        looker.open("/vehicles", query)
        looker(f"vehicles-{name}")
    for name, path in (("404", "/nowhere"), ("no-visit", "/visits/nobody"), ("fault", "/fault")):
        page.goto(place.address + path)
        looker(f"error-{name}")
    looker.open("/visits/{visit}/read", "?moment=left", visit=place.to_key)
    looker("read-left-empty")
    looker.open("/visits/{visit}/rekey", "?layout=pages", visit=place.to_key)
    looker("rekey-pages")
    _folds(looker)
    _devices(looker)
    _refused(looker)
    _away(looker)


def _folds(looker: Looker) -> None:
    """Everything that opens, opened."""
    for name, visit in (("fresh", looker.place.fresh), ("slips", looker.place.slips)):
        looker.open("/visits/{visit}", visit=visit)
        looker.page.evaluate("for (const one of document.querySelectorAll('details')) one.open = 1")
        looker(f"{name}-all-open")
    looker.open("/visits/{visit}/compare", visit=looker.place.slips)
    looker.page.evaluate("for (const one of document.querySelectorAll('details')) one.open = 1")
    looker("compare-all-open")


def _devices(looker: Looker) -> None:
    """A code that is good, a device that is paired, a code that is wrong."""
    page = looker.page
    looker.open("/devices")
    page.get_by_role("button", name="New code").click()
    expect(page.locator("p.code")).to_be_visible()
    looker("devices-code")
    code = page.locator("p.code").inner_text()
    looker.open("/pair")
    page.get_by_label("Code").fill("2222-2222")
    page.get_by_role("button", name="Pair").click()
    expect(page.get_by_role("alert")).to_be_visible()
    looker("pair-wrong")
    looker.open("/pair")
    page.get_by_label("Code").fill(code)
    page.get_by_label("What this phone is called").fill("The workshop's second telephone, in blue")
    page.get_by_role("button", name="Pair").click()
    expect(page.get_by_role("heading", name="Today")).to_be_visible()
    looker.open("/devices")
    expect(page.get_by_role("button", name="Drop")).to_be_visible()
    looker("devices-paired")


def _refused(looker: Looker) -> None:
    """Somebody else wrote in between: said while typing, and when it is sent."""
    page, place = looker.page, looker.place
    looker.open("/visits/{visit}", visit=place.fresh)
    page.get_by_label("Write down what you saw").fill("I am typing this")
    note(AddNote(place.fresh, "Bo", "written elsewhere", ""), desk=place.home.desk())
    expect(page.locator("#moved")).to_be_visible(timeout=30_000)
    looker("visit-moved")
    page.get_by_role("button", name="Keep the note").click()
    expect(page.get_by_role("alert")).to_be_visible()
    looker("visit-refused")


def _away(looker: Looker) -> None:
    """The laptop cannot be reached: what was typed and chosen waits."""
    page, place = looker.page, looker.place
    looker.open("/visits/{visit}/read", "?moment=left", visit=place.slips)
    expect(page.locator("form.shoot.scripted")).to_be_visible()
    page.context.set_offline(True)
    page.set_input_files("#choose", [_file("IMG_0001.jpg"), _file("IMG_0002.jpg")])
    expect(page.locator("#sending")).to_contain_text("waits for the connection")
    expect(page.locator("#offline")).to_be_visible()
    looker("read-away")
    page.context.set_offline(False)
    looker.open("/visits/{visit}/rekey", visit=place.to_key)
    expect(page.locator(".key-row[data-now]")).to_be_visible()
    page.context.set_offline(True)
    page.locator(".key-row[data-now] .tick-key").click()
    expect(page.locator("#offline")).to_be_visible()
    looker("rekey-away")
    page.context.set_offline(False)


def _file(name: str) -> FilePayload:
    return {"name": name, "mimeType": "image/jpeg", "buffer": name.encode() * 100}


def forms_of_nobody(looker: Looker) -> None:
    """Every form that asks for a name, because nobody gave one yet."""
    place = looker.place
    looker.go("/vehicles/{part}/open", "nobody-open", part="41")
    looker.go("/vehicles/{part}/holds", "nobody-holds", part="41")
    for end in ("", "/read", "/doubts", "/rekey", "/compare", "/proof", "/report"):
        for name, visit in (("fresh", place.fresh), ("slips", place.slips)):
            looker.go("/visits/{visit}" + end, f"nobody-{name}{end.replace('/', '-')}", visit=visit)
