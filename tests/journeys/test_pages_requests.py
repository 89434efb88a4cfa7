"""Footage that somebody asks for, in a real browser: from the call to the answer, a hold that is
seen on another open page at once, deletions, and a bag; nothing keeps anybody out (axe-core).
"""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
import uvicorn
from playwright.sync_api import Browser, expect
from tests.journeys.test_pages_visit import SHOTS
from tests.pages_kit import free_port, look_everywhere, out_of_place, seat, settled
from tests.worked_visit import fleet_home, up_to_keys

from asfound.cli.serve import LOOPBACK, pages_of
from asfound.demo import scenario
from asfound.jobs.evidence_copy import CopyEvidence, Desk, copy_evidence
from asfound.ports.backends.bag_disk import DiskNewBag
from asfound.ports.backends.clock_system import SystemClock
from asfound.ports.backends.pdf_typst import TypstPdf
from asfound.ports.backends.signatures_ed25519 import Ed25519
from asfound.ports.backends.video_av import AvVideo

READY_S = 60.0
SEEN_MS = 60_000
"""Patience of a test on a busy machine; no claim."""


@dataclass(frozen=True)
class Place:
    """A server over the demonstration's fleet, and a visit that is open."""

    address: str
    visit: str


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Place]:
    folder = tmp_path_factory.mktemp("home")
    home, bags = fleet_home(folder), _bags(tmp_path_factory.mktemp("bags"))
    visit, port = up_to_keys(home), free_port()
    app = pages_of(home, {"Drive": bags.parent / "drive"}, [LOOPBACK], port, {"Claims": bags})
    config = uvicorn.Config(app, port=port, log_level="critical", timeout_graceful_shutdown=1)
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run)
    thread.start()
    end = time.monotonic() + READY_S
    while not server.started:
        assert thread.is_alive() and time.monotonic() < end
        time.sleep(0.05)
    yield Place(f"http://localhost:{port}", visit)
    app.state.server.hub.close()
    server.should_exit = True
    thread.join(READY_S)


def _bags(folder: Path) -> Path:
    source = folder.parent / "drive"
    source.mkdir()
    (source / "217 front.mp4").write_bytes(b"a recording" * 900)
    (source / "217 door.mp4").write_bytes(b"another" * 900)
    now = datetime.now(UTC)
    asked = CopyEvidence((source,), scenario.VEHICLE, now - timedelta(hours=1), now, "Ines",
                         "claim", 0.0, True)  # fmt: skip
    desk = Desk(AvVideo(), Ed25519(), SystemClock(), TypstPdf())
    for name in ("claim 12", "claim 13"):
        copy_evidence(asked, Ed25519().make(), bag=DiskNewBag(folder / name), desk=desk)
    (folder / "claim 13" / "data" / "217 door.mp4").write_bytes(b"something else")
    return folder


def test_from_the_call_to_the_answer(browser: Browser, place: Place) -> None:
    told: list[str] = []
    folder = SHOTS / "requests"
    with seat(browser, "phone", "light", "Ines Okafor", place.address) as context:
        context.set_default_timeout(SEEN_MS)
        visit = context.new_page()
        visit.goto(f"{place.address}/visits/{place.visit}")
        page = context.new_page()
        page.goto(f"{place.address}/requests")
        told += look_everywhere(page, "requests-empty", folder)
        page.get_by_role("link", name="Take a request down").first.click()
        page.get_by_label("Vehicle", exact=True).fill("999")
        start = datetime.now(UTC) - timedelta(hours=20)
        page.get_by_label("From", exact=True).fill(f"{start:%Y-%m-%dT%H:%M}")
        page.get_by_label("To", exact=True).fill(f"{start + timedelta(minutes=30):%Y-%m-%dT%H:%M}")
        page.get_by_label("What it is wanted for").fill("collision at the depot gate")
        page.get_by_label("Who may have it").fill("insurer, consent of the operator")
        page.get_by_role("button", name="Take it down").click()
        expect(page.get_by_role("alert")).to_contain_text("no vehicle '999'")
        told += look_everywhere(page, "request-wrong", folder)
        page.get_by_label("Vehicle", exact=True).fill("217")
        page.get_by_role("button", name="Take it down").click()
        expect(page.get_by_role("heading", name="Footage of vehicle 217")).to_be_visible()
        page.get_by_text("Closer, by an ignition log").click()
        told += look_everywhere(page, "request", folder)
        # The other page was not touched: it heard of the hold by itself.
        expect(visit.get_by_text("hold-217-1").first).to_be_visible()
        for name, path in (("requests", "/requests"), ("today-asked", "/"),
                           ("vehicle-asked", "/vehicles/217"),
                           ("deletions", "/requests/deletions"),
                           ("copy", "/requests/ask-217-1/copy")):  # fmt: skip
            page.goto(place.address + path)
            page.evaluate("for (const one of document.querySelectorAll('details')) one.open = 1")
            told += look_everywhere(page, name, folder)
        page.goto(f"{place.address}/requests/ask-217-1")
        page.get_by_label("What came of it, and who was told").fill("copied at the depot")
        page.get_by_label("Copies handed over").fill("217 front.mkv\n217 side.mkv")
        page.get_by_role("button", name="Keep the answer").click()
        expect(page.get_by_text("217 front.mkv, 217 side.mkv").first).to_be_visible()
        told += look_everywhere(page, "request-answered", folder)
    assert not told, "\n".join(told)


def test_bags_are_verified(browser: Browser, place: Place) -> None:
    told: list[str] = []
    folder = SHOTS / "requests"
    with seat(browser, "laptop", "dark", "Ines Okafor", place.address) as context:
        context.set_default_timeout(SEEN_MS)
        page = context.new_page()
        page.goto(f"{place.address}/evidence")
        told += look_everywhere(page, "bags", folder)
        page.get_by_label("Public key").fill("ab")
        page.get_by_role("button", name="Verify it").click()
        expect(page.get_by_role("alert")).to_contain_text("no public key")
        page.get_by_label("Public key").fill("")
        for name, says in (("claim 12", "Whole: every file"), ("claim 13", "not what was packed")):
            page.get_by_label("Folder of the bag").select_option(label=name)
            page.get_by_role("button", name="Verify it").click()
            expect(page.get_by_text(says).first).to_be_visible()
        told += look_everywhere(page, "bags-verified", folder)
    assert not told, "\n".join(told)


@pytest.mark.parametrize(
    "name",
    [
        "requests",
        "requests/new",
        "requests/ask-217-1",
        "requests/ask-217-1/copy",
        "requests/deletions",
        "evidence",
    ],
)
def test_german_fits_a_phone(browser: Browser, place: Place, name: str) -> None:
    with seat(browser, "phone", "light", "Ines Okafor", place.address) as context:
        context.add_cookies([{"name": "asfound_language", "value": "de", "url": place.address}])
        page = context.new_page()
        page.goto(f"{place.address}/{name}")
        settled(page)
        shot = f"de-{name.replace('/', '-')}"
        assert out_of_place(page, shot, "phone", "light", SHOTS / "requests") == []
