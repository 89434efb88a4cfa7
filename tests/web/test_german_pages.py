"""German pages of whole visits hold no English text, whoever says it: template, job or model.

Two looks that know nothing of each other: what the catalogue could still translate, and words
that English sentences hardly do without (common practice, no source). What the fleet, the menu
and people wrote is left as it is.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from html.parser import HTMLParser

import pytest
from starlette.testclient import TestClient
from tests.proof_visit import ready_to_prove
from tests.web.kit import PORT
from tests.worked_visit import BY, fleet_home, up_to_slips

from asfound.cli.home import Home
from asfound.cli.serve_parts import services
from asfound.demo import scenario
from asfound.jobs.footage_requests import (
    AddRequest,
    EndRequest,
    add_request,
    answer_request,
)
from asfound.jobs.holds import PlaceHold, place_hold
from asfound.jobs.visit_act import AddNote, note
from asfound.jobs.visit_journal import Book
from asfound.jobs.visit_record import RecordProof, record_proof
from asfound.model.finding import Finding, Kind, Proof, ProofVerdict, Recording
from asfound.ports.documents import to_data
from asfound.web.app import create_app
from asfound.web.security import host_names
from asfound.web.services import Settings
from asfound.web.texts import load_texts

ENGLISH = re.compile(
    r"\b(the|is|are|were|not|and|with|of|to|from|cannot|could|no|it|this|that|which)\b"
)
GERMAN = load_texts()["de"]
NAMES = {"yes", "no", "off", "on", "set", "blank", "fast", "slow", "before", "after"}
"""Values of settings, which are the recorder's own words."""

START = datetime(2026, 11, 25, 19, 0, tzinfo=UTC)


class Said(HTMLParser):
    """The texts of a page, and what its attributes say; parts in another language left out."""

    VOID = frozenset({"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta"})

    def __init__(self, page: str) -> None:
        super().__init__()
        self.texts: list[str] = []
        self._foreign: list[bool] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        known = dict(attrs)
        other = known.get("lang") not in (None, "de") or tag in ("style", "script", "kbd", "pre")
        foreign = other or (bool(self._foreign) and self._foreign[-1])
        if tag not in self.VOID:
            self._foreign.append(foreign)
        if not foreign:
            said = (known.get(name) for name in ("alt", "aria-label", "title", "placeholder"))
            self.texts += [" ".join(text.split()) for text in said if text]

    def handle_endtag(self, tag: str) -> None:
        if tag not in self.VOID and self._foreign:
            self._foreign.pop()

    def handle_data(self, data: str) -> None:
        if data.strip() and not (self._foreign and self._foreign[-1]):
            self.texts.append(" ".join(data.split()))


def strings(data: object) -> Iterator[str]:
    """Every string of a document, keys left out."""
    if isinstance(data, str):
        yield " ".join(data.split())
    elif isinstance(data, dict):
        for value in data.values():
            yield from strings(value)
    elif isinstance(data, list | tuple):
        for value in data:
            yield from strings(value)


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Home:
    return fleet_home(tmp_path_factory.mktemp("home"))


@pytest.fixture(scope="module")
def browser(home: Home) -> TestClient:
    app = create_app(services(home), Settings(host_names(["localhost"], PORT)))
    seat = ("127.0.0.1", 50000)
    german = {"Accept-Language": "de"}
    return TestClient(app, f"http://localhost:{PORT}", client=seat, headers=german)


@pytest.fixture(scope="module")
def visits(home: Home) -> tuple[str, str, str]:
    """One with slips and a doubt as left and footage on hold, one with a proof full of faults,
    one that was closed."""
    desk = home.desk()
    slips = up_to_slips(home)
    note(AddNote(slips, BY, "Deckel fehlt", "rekey"), desk=desk)
    span = (START, START + timedelta(hours=1))
    hold = PlaceHold(home.fleet().vehicle(scenario.VEHICLE), *span, "Unfall", "Büro")
    place_hold(hold, store=desk.store, clock=desk.clock)
    claim = AddRequest(
        home.fleet().vehicle(scenario.VEHICLE), *span, (1, 2), "Unfall", "Büro", BY, -90.0
    )
    taken = add_request(claim, log=home.requests(), store=desk.store, clock=desk.clock)
    answer = EndRequest(taken.id, BY, "kopiert", ("217.mkv",))
    answer_request(answer, log=home.requests(), clock=desk.clock)
    add_request(claim, log=home.requests(), store=desk.store, clock=desk.clock)
    proved = ready_to_prove(home)
    found = [
        Finding(Kind.FROZEN, 3.0, 9.0, 6.0, 2.0, "s", "a source", "",
                "the picture is stuck though a burned-in line runs on"),
        Finding(Kind.WRONG_SIZE, 0.0, 9.0, 1.0, None, "1", "a source", "",
                "640x360 instead of 1280x720"),
        Finding(Kind.DAMAGED, 0.0, 9.0, 3.0, 0.0, "pictures", "a source", "",
                "3 pictures with decoding errors"),
        Finding(Kind.CLOCK_OFFSET, 0.0, 9.0, 60.0, 5.0, "s", "a source", "",
                "the burned-in clock is 1:00 fast against the file's start in UTC"),
    ]  # fmt: skip
    unclear = (
        "focus cannot be judged: too dark, or nothing with edges is seen",
        "aim cannot be judged: no earlier picture of this channel was given",
    )
    recordings = (
        Recording("/m/a.mp4", 1, "h264", 640, 360, 12.0, 10.0, 5e5, START, tuple(found)),
        Recording("/m/b.mp4", 2, "h264", 640, 360, 12.0, 10.0, None, None, (), unclear),
    )
    made = Proof(ProofVerdict.FAULTS, recordings, (4,))
    record_proof(RecordProof(proved, made, BY), desk=desk)
    closed = ready_to_prove(home)
    Book(closed, desk).write(BY, "closed", {"step": "close", "note": ""})
    return slips, proved, closed


PAGES = ("", "/read", "/read?moment=left", "/doubts", "/doubts?moment=found", "/rekey",
         "/rekey?layout=pages", "/compare", "/proof", "/report", "/secrets")  # fmt: skip


def test_pages_of_a_visit_hold_no_english(
    home: Home, browser: TestClient, visits: tuple[str, ...]
) -> None:
    known = _data(home, visits)
    number = scenario.VEHICLE
    paths = ["/", "/vehicles", f"/vehicles/{number}", f"/vehicles/{number}/holds",
             "/requests", "/requests/new", "/requests/ask-217-1", "/requests/ask-217-2",
             "/requests/ask-217-2/copy",
             "/requests/deletions", "/evidence", f"/vehicles/{number}/open",
             f"/vehicles/{number}/settings", "/settings",
             "/visits/none", "/nowhere",
             *(f"/visits/{visit}{page}" for visit in visits for page in PAGES)]  # fmt: skip
    left: list[str] = []
    for path in paths:
        answer = browser.get(path)
        assert answer.status_code in (200, 404), (path, answer.status_code)
        left += [f"{path}: {text}" for text in english(answer.text, known)]
    assert not left, "\n".join(left)


def test_refusals_are_said_in_german(browser: TestClient, visits: tuple[str, ...]) -> None:
    slips = visits[0]
    locked = browser.post(f"/visits/{slips}/done", data=_form(browser, slips, step="drive"))
    # A hold says so first, whatever else is missing, and is never overridden.
    assert locked.status_code == 409
    assert "Bildmaterial ist gesperrt" in locked.text
    never = _form(browser, slips, step="drive", gate="no-hold", reason="eilt")
    refused = browser.post(f"/visits/{slips}/override", data=never)
    assert refused.status_code == 422
    assert "wird nie übergangen" in refused.text
    for page in (locked, refused):
        assert [text for text in english(page.text, set()) if "asfound" in text] == []


def _form(browser: TestClient, visit: str, **fields: str) -> dict[str, str]:
    """``fields`` of a form as the visit's page sends it now."""
    page = browser.get(f"/visits/{visit}").text
    head = re.search(r'data-head="([0-9a-f]+)"', page)
    token = re.search(r'name="csrf" value="([0-9a-f]+)"', page)
    assert head and token
    return {"csrf": token[1], "head": head[1], "by": "Ines", **fields}


def test_problems_are_said_in_the_language_that_is_asked_for(browser: TestClient) -> None:
    german = browser.get("/api/v1/visits/none")
    assert german.headers["content-language"] == "de"
    assert "Besuch" in german.json()["detail"]
    english = browser.get("/api/v1/visits/none", headers={"Accept-Language": ""})
    assert english.headers["content-language"] == "en"
    # Programs see the line as the command line says it.
    assert english.json()["detail"].startswith("no visit 'none'")


def english(page: str, known: set[str]) -> list[str]:
    """Texts of a German page that are English."""
    longest = sorted((item for item in known if len(item) > 3), key=len, reverse=True)
    found = []
    for text in Said(page).texts:
        rest = text
        for item in longest:
            rest = rest.replace(item, "…")
        rest = rest.strip(" :,")
        if rest.casefold() not in NAMES and (GERMAN.told(rest) != rest or ENGLISH.search(rest)):
            found.append(text)
    return found


def _data(home: Home, visits: tuple[str, ...]) -> set[str]:
    """What the fleet, the menu map and people wrote."""
    fleet = home.fleet()
    known = set(strings(json.loads(json.dumps(to_data(fleet), default=str))))
    known |= {"Unfall", "Büro", "kopiert", "217.mkv", BY}
    for visit in visits:
        state = home.visit(visit)
        known |= set(strings(to_data(home.visit_map(state))))
        known |= {item.note for item in state.notes} | {one.reason for one in state.overrides}
    return known - {"off", "on"}
