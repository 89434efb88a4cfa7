"""A laptop and a phone on one network: nothing without pairing, everything until it is dropped.

The two are network namespaces with a wire between them; server, laptop's browser and phone's
browser each run on their own host. Only the phone's address decides: it is no loopback address.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, Playwright, expect, sync_playwright
from tests.browser_program import chromium
from tests.pages_kit import Kind, free_port, seat
from tests.two_hosts import Host, two_hosts
from tests.worked_visit import fleet_home

from asfound.cli.home import Home
from asfound.demo import scenario
from asfound.demo.photos import Session, shoot
from asfound.demo.themes import TUNING_THEMES
from asfound.jobs.visit_act import TickStep, tick
from asfound.jobs.visit_open import OpenVisit, open_visit
from asfound.web.routes import PAGES, PREFIX, RESOURCES

READ_MS = 300_000
"""Patience of a test on a busy machine; no claim."""

SECRETS = ("Brindlemere", "QB04 XKM", "MF-20417", "Saltmarsh")
"""What only those who are let in may see: names of the demonstration's fleet."""

RUN = "from asfound.cli.entry import run; run()"
SHORT = "import datetime; from asfound.web import pairing; pairing.LIVES = datetime.timedelta(0, 1)"
"""The five minutes of a code, made a second: waiting for five proves nothing more."""

ASK = """
import http.client, json, sys
asked = json.load(sys.stdin)
told = []
for method, path, headers in asked["requests"]:
    link = http.client.HTTPConnection(asked["host"], asked["port"], timeout=60)
    link.request(method, path, headers=headers)
    answer = link.getresponse()
    told.append([answer.status, answer.getheader("Location") or "", answer.read(100000).decode("utf-8", "replace")])
    link.close()
json.dump(told, sys.stdout)
"""  # noqa: E501 - a program in one piece, run on the other host

REACH = """
import socket, sys
try:
    socket.create_connection((sys.argv[1], int(sys.argv[2])), 5).close()
except OSError:
    sys.exit(1)
"""


@dataclass(frozen=True)
class Net:
    """The two hosts and a browser on each."""

    laptop: Host
    phone: Host
    laptop_browser: Browser
    phone_browser: Browser


@dataclass(frozen=True)
class Serving:
    """Pages that are served on the laptop; ``code`` is what its terminal showed."""

    port: int
    code: str
    there: str

    @property
    def here(self) -> str:
        """The laptop's own address of them."""
        return f"http://localhost:{self.port}"


@pytest.fixture(scope="module")
def net(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Net]:
    folder = tmp_path_factory.mktemp("programs")
    with two_hosts() as (laptop, phone), sync_playwright() as tools:
        one, two = _browser(tools, laptop, folder), _browser(tools, phone, folder)
        yield Net(laptop, phone, one, two)
        one.close()
        two.close()


def _browser(tools: Playwright, host: Host, folder: Path) -> Browser:
    return tools.chromium.launch(
        executable_path=host.program(chromium(), folder),
        args=["--no-sandbox", "--disable-gpu", "--disable-background-networking"],
    )


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return fleet_home(tmp_path)


@pytest.fixture
def visit(home: Home) -> str:
    """A visit that waits for its photographs."""
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


@contextmanager
def serving(host: Host, home: Home, before: str = "", lan: bool = True) -> Iterator[Serving]:
    """``asfound serve --lan`` on the laptop."""
    port = free_port()
    options = ["--no-browser", "--port", str(port), "--home", str(home.path)]
    program = "; ".join(part for part in (before, RUN) if part)
    command = [sys.executable, "-u", "-c", program, "serve", *(["--lan"] if lan else []), *options]
    process = subprocess.Popen(
        host.command(*command), stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    )
    assert process.stdout is not None
    said = ""
    while "more: page Devices" not in said if lan else "pages at" not in said:
        line = process.stdout.readline()
        assert line, said
        said += line
    code = re.search(r"type ([0-9A-Z]{4}-[0-9A-Z]{4})", said)
    try:
        yield Serving(port, code[1] if code else "", f"http://{host.address}:{port}")
    finally:
        process.kill()
        process.communicate()


def ask(host: Host, at: tuple[str, int], requests: Sequence[Any]) -> list[tuple[int, str, str]]:
    """(status, where it leads, text) of plain requests that a host makes."""
    asked = {"host": at[0], "port": at[1], "requests": requests}
    done = subprocess.run(
        host.command(sys.executable, "-c", ASK), input=json.dumps(asked), capture_output=True,
        text=True, check=True,
    )  # fmt: skip
    return [(status, to, text) for status, to, text in json.loads(done.stdout)]


def every_route(visit: str) -> list[tuple[str, str]]:
    """Method and path of every page and resource, with what is there in its holes."""
    parts = {"visit": visit, "part": scenario.VEHICLE, "key": scenario.VEHICLE}
    made = [("GET", f"{PREFIX}/openapi.json")]
    for module, prefix in (*((page, "") for page in PAGES), *((one, PREFIX) for one in RESOURCES)):
        for route in module.router.routes:
            path = prefix + getattr(route, "path", "")
            filled = re.sub(r"{(\w+)}", lambda hole: parts.get(hole[1], "1"), path)
            made += [(method, filled) for method in sorted(getattr(route, "methods", ()))]
    return made


def test_who_is_not_paired_sees_nothing(net: Net, home: Home, visit: str) -> None:
    with serving(net.laptop, home) as pages:
        at = (net.laptop.address, pages.port)
        routes = [item for item in every_route(visit) if item[1] != "/pair"]
        assert len(routes) > 60
        for accept in ("text/html", "application/json"):
            headers = {"Accept": accept}
            answers = ask(net.phone, at, [(method, path, headers) for method, path in routes])
            for (method, path), (status, to, text) in zip(routes, answers, strict=True):
                assert (status, to) == (303, "/pair") or status == 401, (method, path, status)
                # A refusal names the address that was asked for, and nothing else.
                rest = text.replace(path, "")
                assert not any(word in rest for word in (*SECRETS, visit)), (method, path)
        (answer,) = ask(net.phone, at, [("GET", "/pair", {"Accept": "text/html"})])
        assert answer[0] == 200 and not any(word in answer[2] for word in SECRETS)
        # The laptop itself sees its pages: what was refused is there.
        (answer,) = ask(net.laptop, ("localhost", pages.port), [("GET", "/", {})])
        assert answer[0] == 200 and SECRETS[0] in answer[2]


def test_foreign_names_and_origins_are_refused(net: Net, home: Home, visit: str) -> None:
    with serving(net.laptop, home) as pages:
        at, own = (net.laptop.address, pages.port), f"{net.laptop.address}:{pages.port}"
        hosts = ("evil.example", f"evil.example:{pages.port}", net.laptop.address, f"{own}.nip.io")
        for host in (net.phone, net.laptop):
            answers = ask(host, at, [("GET", "/pair", {"Host": name}) for name in hosts])
            assert [status for status, _, _ in answers] == [421] * len(hosts)
        origins = ("http://evil.example", f"https://{own}", "null", f"http://{own}.evil.example")
        sent = [("POST", "/pair", {"Host": own, "Origin": name}) for name in origins]
        assert [status for status, _, _ in ask(net.phone, at, sent)] == [403] * len(origins)
        note = [("POST", f"/visits/{visit}/note", {"Origin": "http://evil.example"})]
        assert ask(net.laptop, ("localhost", pages.port), note)[0][0] == 403


def test_without_lan_no_other_host_connects(net: Net, home: Home) -> None:
    if not net.phone.prefix:
        # Both are one machine here: its own address is what nobody may listen on.
        assert net.phone.address != "127.0.0.1"
    with serving(net.laptop, home, lan=False) as pages:
        (answer,) = ask(net.laptop, ("localhost", pages.port), [("GET", "/", {})])
        assert answer[0] == 200
        reach = [sys.executable, "-c", REACH, net.laptop.address, str(pages.port)]
        assert subprocess.run(net.phone.command(*reach), check=False).returncode == 1


def test_a_phone_pairs_photographs_and_is_dropped(
    net: Net, home: Home, visit: str, tmp_path: Path
) -> None:
    menu_map = home.menu_map(home.fleet().vehicle(scenario.VEHICLE).recorder.map_id)
    firmware = home.fleet().vehicle(scenario.VEHICLE).recorder.firmware
    screen = scenario.as_found_screen(menu_map, firmware)
    session = Session(TUNING_THEMES[0], "clean", 77, pages=frozenset({"office"}))
    (photo,) = shoot(menu_map, screen, firmware, session, tmp_path / "photographs")
    with (
        serving(net.laptop, home) as pages,
        seat(net.phone_browser, "phone", "dark") as one,
        seat(net.laptop_browser, "laptop", "light", "Bo", pages.here) as two,
    ):
        phone, laptop = one.new_page(), two.new_page()
        phone.goto(f"{pages.there}/visits/{visit}")
        expect(phone.get_by_role("heading", name="Pair this phone")).to_be_visible()
        pair(phone, pages.code)
        expect(phone.get_by_role("heading", name="Today")).to_be_visible()
        expect(phone.get_by_text(SECRETS[0])).to_be_visible()
        expect(phone.get_by_role("link", name="Devices")).to_have_count(0)
        laptop.goto(f"{pages.here}/visits/{visit}/read")
        laptop.evaluate("window.untouched = true")
        phone.goto(f"{pages.there}/visits/{visit}/read")
        phone.get_by_label("Your name").fill("Ines")
        phone.get_by_role("button", name="Begin").click()
        phone.set_input_files("#take-one", photo.path)
        there = laptop.locator(".photos .photo").filter(has_text="Office")
        expect(there.locator(".chip.good")).to_contain_text("sure", timeout=READ_MS)
        assert laptop.evaluate("window.untouched"), "nobody pressed reload"
        there.get_by_role("link").click()
        expect(laptop.get_by_role("row", name=re.compile("Port"))).to_contain_text("5055")
        # Dropped at the laptop, the phone's open page hears nothing more, and sees nothing again.
        laptop.goto(f"{pages.here}/devices")
        laptop.get_by_role("button", name="Drop").click()
        expect(laptop.get_by_text("None yet.")).to_be_visible()
        expect(phone.locator("#offline")).to_be_visible(timeout=30_000)
        for path in (f"/visits/{visit}/read", "/", "/vehicles/217"):
            phone.goto(pages.there + path)
            expect(phone.get_by_role("heading", name="Pair this phone")).to_be_visible()
            assert not any(word in phone.content() for word in SECRETS)


def pair(page: Page, code: str) -> None:
    page.get_by_label("Code").fill(code)
    page.get_by_label("What this phone is called").fill("Ines's phone")
    page.get_by_role("button", name="Pair").click()


def test_a_code_is_good_once(net: Net, home: Home) -> None:
    with serving(net.laptop, home) as pages:
        for number, kind in enumerate[Kind](("phone", "laptop")):
            with seat(net.phone_browser, kind, "light") as context:
                page = context.new_page()
                page.goto(f"{pages.there}/pair")
                pair(page, pages.code)
                if number == 0:
                    expect(page.get_by_role("heading", name="Today")).to_be_visible()
                else:
                    expect(page.get_by_role("alert")).to_contain_text("not good")
                    page.goto(pages.there)
                    expect(page.get_by_role("heading", name="Pair this phone")).to_be_visible()


def test_a_code_expires(net: Net, home: Home) -> None:
    with (
        serving(net.laptop, home, SHORT) as pages,
        seat(net.laptop_browser, "laptop", "light") as one,
        seat(net.phone_browser, "phone", "light") as two,
    ):
        laptop, phone = one.new_page(), two.new_page()
        while True:
            laptop.goto(f"{pages.here}/devices")
            if not laptop.locator("p.code").count():
                break
        expect(laptop.get_by_text("A code lets one phone in, once")).to_be_visible()
        phone.goto(f"{pages.there}/pair")
        pair(phone, pages.code)
        expect(phone.get_by_role("alert")).to_contain_text("not good")
