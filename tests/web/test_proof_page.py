"""The proof's page: who may have recordings looked at, what comes out, and in which words."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from tests.proof_visit import SECONDS, short_drive
from tests.visit_kit import MAP, VALUES, reading
from tests.web.kit import LAPTOP, MARKUP, PHONE, Browser, send, services, token

from asfound.errors import NotFound
from asfound.jobs.report_texts import KIND_WORDS
from asfound.jobs.visit_act import OverrideGate, TickStep, override, tick
from asfound.jobs.visit_journal import Book
from asfound.jobs.visit_record import RecordProof, RecordReading, record_as_found, record_proof
from asfound.model.coverage import ChannelCoverage, Coverage, CoverageVerdict, Period
from asfound.model.finding import Finding, Kind, Proof, ProofVerdict, Recording
from asfound.ports.backends.folders_disk import DiskFolders
from asfound.ports.folders import folder_key
from asfound.web.figures import Figures
from asfound.web.proof_words import FINDINGS, UNTIMED

OPEN_217 = {"procedure": "inspection", "by": "Ines", "firmware": "1.0"}
START = datetime(2026, 11, 25, 19, 0, tzinfo=UTC)
WAIT_S = 120.0


@pytest.fixture
def browser(tmp_path: Path) -> Browser:
    drive = tmp_path / "drive"
    (drive / "evening").mkdir(parents=True)
    folders = DiskFolders({"Bus drive": drive, "Away": tmp_path / "away"})
    return Browser(replace(services(tmp_path), folders=folders))


@pytest.fixture
def visit(browser: Browser) -> str:
    """A visit that was read; the steps before its proof are passed over."""
    desk = browser.server.services.desk
    made = send(browser, "/vehicles/217/open", OPEN_217).rpartition("/")[2]
    for step in ("locate", "power", "monitor"):
        tick(TickStep(made, step, "ada"), desk=desk)
    record_as_found(RecordReading(made, MAP, reading(VALUES, desk), "ada"), desk=desk)
    override(OverrideGate(made, "prove", "steps-done", "ada", "only the proof"), desk=desk)
    return made


def start(browser: Browser, visit: str, **fields: str) -> Any:
    page = browser.get(f"/visits/{visit}/proof").text
    found = re.search(r'name="head" value="([0-9a-f]+)"', page)
    known = {"csrf": token(browser), "head": found[1] if found else "", "by": "Ines"}
    return browser.post(f"/visits/{visit}/proof/start", data={**known, **fields})


def proof(visit: str, browser: Browser, count: int = 1) -> None:
    """A proof with a black picture in each of ``count`` recordings, and one that is unclear."""
    desk = browser.server.services.desk
    picture = desk.blobs.put(b"\xff\xd8\xff and the rest")
    black = Finding(Kind.BLACK, 1.0, 4.5, 0.5, 0.98, "1", "a source", picture, MARKUP)
    made = [
        Recording(
            f"/media/x/{MARKUP}{n}.mp4", 1, "h264", 640, 360, 12.0, 10.0, 5e5, START, (black,)
        )
        for n in range(count)
    ]
    doubt = Recording("/media/x/b.mp4", 2, "h264", 640, 360, 12.0, 10.0, None, None, (), ("dim",))
    record_proof(
        RecordProof(visit, Proof(ProofVerdict.FAULTS, (*made, doubt), (4,)), "ada"), desk=desk
    )


def test_a_folder_is_looked_at_and_its_faults_are_shown(
    browser: Browser, visit: str, tmp_path: Path
) -> None:
    short_drive(tmp_path / "drive" / "evening", START, cameras=2)
    page = browser.get(f"/visits/{visit}/proof").text
    assert "No recordings were looked at yet" in page and "Away" in page and "evening" in page
    answer = start(browser, visit, folder=folder_key("Bus drive", "evening"))
    assert answer.status_code == 303, answer.text
    (task,) = browser.server.tasks.of(visit)
    ended = browser.server.tasks.wait(task.id, WAIT_S)
    assert (ended.state, ended.message) == ("done", "faults"), ended
    page = browser.get(f"/visits/{visit}/proof").text
    # What the simulator was told: camera 2's picture stands still from the third second on.
    assert "picture stands still" in page and "Looked at by Ines" in page
    assert f"{SECONDS * 2:.0f} s in all" in page.replace("\u00a0", " ")
    pictures = set(re.findall(rf'href="(/visits/{visit}/proof/pictures/[0-9a-f]+)"', page))
    assert pictures
    for path in sorted(pictures)[:2]:
        for query in ("", "?small=1"):
            shot = browser.get(path + query)
            assert (shot.status_code, shot.headers["content-type"]) == (200, "image/jpeg")


def test_only_the_laptop_begins_and_only_named_folders_are_opened(
    browser: Browser, visit: str, tmp_path: Path
) -> None:
    (tmp_path / "drive" / "loop").symlink_to(tmp_path, target_is_directory=True)
    assert "loop" not in browser.get(f"/visits/{visit}/proof").text, "links may lead anywhere"
    for folder in ("", "../..", str(tmp_path), folder_key("Bus drive", "loop"), "0" * 16):
        answer = start(browser, visit, folder=folder)
        assert answer.status_code == 404, answer.text
    assert start(browser, visit, folder=folder_key("Away", "")).status_code == 404
    assert browser.server.tasks.of(visit) == []


def test_a_phone_sees_the_proof_and_cannot_begin(tmp_path: Path) -> None:
    made = replace(services(tmp_path), folders=DiskFolders({"Bus drive": tmp_path}))
    laptop = Browser(made, LAPTOP, lan=True)
    visit = send(laptop, "/vehicles/217/open", OPEN_217).rpartition("/")[2]
    phone = laptop.from_seat(PHONE)
    code = laptop.server.pairing.new_code().text
    send(phone, "/pair", {"code": code, "name": "phone"})
    page = phone.get(f"/visits/{visit}/proof").text
    assert "Begin it on the laptop" in page and "Bus drive" not in page
    assert phone.get("/api/v1/recordings").json() == []
    fields = {
        "csrf": token(phone),
        "head": "0" * 64,
        "by": "x",
        "folder": folder_key("Bus drive", ""),
    }
    assert phone.post(f"/visits/{visit}/proof/start", data=fields).status_code == 403


def test_a_locked_or_unread_visit_says_why(browser: Browser) -> None:
    visit = send(browser, "/vehicles/217/open", OPEN_217).rpartition("/")[2]
    page = browser.get(f"/visits/{visit}/proof").text
    assert "is locked" in page and 'id="folder"' not in page
    answer = start(browser, visit, folder=folder_key("Bus drive", ""), head="0" * 64)
    assert answer.status_code == 409


def test_two_people_the_later_one_is_told(browser: Browser, visit: str) -> None:
    answer = start(browser, visit, folder=folder_key("Bus drive", ""), head="0" * 64)
    assert answer.status_code == 409 and "New since you loaded" in answer.text


def test_stored_names_stay_text_and_doubts_stand_apart(browser: Browser, visit: str) -> None:
    proof(visit, browser)
    page = browser.get(f"/visits/{visit}/proof").text
    assert MARKUP not in page and "&lt;script&gt;" in page
    assert "Could not tell" in page and "dim" in page
    assert "has no recording at all" in page, "camera 4"
    assert "style=" not in page and "<style" not in page, "the policy refuses inline styles"
    assert page.count("<script") == 1, "one module, from its own file"


def test_long_lists_are_paged(browser: Browser, visit: str) -> None:
    proof(visit, browser, 60)
    first = browser.get(f"/visits/{visit}/proof").text
    assert first.count('id="finding-') == 40 and "page 1 of 2" in first and "page 1 of 3" in first
    last = browser.get(f"/visits/{visit}/proof?findings=2&page=3").text
    assert last.count('id="finding-') == 20 and last.count('class="take"') == 11
    told = browser.get(f"/api/v1/visits/{visit}/proof?page=3").json()
    assert (told["found"], told["pages"], len(told["recordings"])) == (61, 3, 11)


def test_pictures_of_other_visits_are_not_given_out(browser: Browser, visit: str) -> None:
    proof(visit, browser)
    other = browser.server.services.desk.blobs.put(b"\xff\xd8\xff a photograph of a menu")
    for name in (other, "0" * 64, "..%2F..%2Fasfound.db"):
        assert browser.get(f"/visits/{visit}/proof/pictures/{name}").status_code == 404
    assert browser.get(f"/visits/nobody/proof/pictures/{other}").status_code == 404


def test_the_interface_begins_and_stops(browser: Browser, visit: str, tmp_path: Path) -> None:
    short_drive(tmp_path / "drive" / "evening", START, cameras=1)
    headers = {"X-CSRF-Token": browser.get("/api/v1/session").json()["csrf_token"]}
    (place, away) = browser.get("/api/v1/recordings").json()
    assert (place["there"], away["there"]) == (True, False)
    known = browser.get(f"/api/v1/visits/{visit}/proof").json()
    assert (known["verdict"], known["locked"]) == (None, "")
    wanted = {"head": known["head"], "by": "ada", "folder": place["folders"][1]["key"]}
    path = f"/api/v1/visits/{visit}/proof"
    answer = browser.post(path, json=wanted, headers=headers)
    assert answer.status_code == 202, answer.text
    task = answer.json()["id"]
    browser.post(f"/api/v1/tasks/{task}/stop", headers=headers)
    ended = browser.server.tasks.wait(task, WAIT_S)
    assert ended.state in ("stopped", "done")
    page = browser.get(f"/visits/{visit}/proof").text
    assert ("Looking was stopped" in page) == (ended.state == "stopped")
    assert browser.get(f"/api/v1/visits/{visit}/coverage").json() == []


def test_days_on_disk_are_shown_with_what_lacks(browser: Browser, visit: str) -> None:
    hole = Period(START - timedelta(days=3), START - timedelta(days=3) + timedelta(hours=2))
    channels = (
        ChannelCoverage(1, 40.0, 40.0, 1.0, (), 0.0, hole.start, START, 28.3, hole.start),
        ChannelCoverage(2, 40.0, 38.0, 0.95, (hole,), 0.0, hole.start, START, 3.0, hole.end),
    )
    window = Period(START - timedelta(days=28), START)
    made = Coverage(CoverageVerdict.MISSING, window, 0.0, 60.0, channels, 28.0, (2,))
    book = Book(visit, browser.server.services.desk)
    data = {"coverage": book.keep(made), "expected": book.keep(made), "against": "ignition"}
    book.write("ada", "coverage-taken", {**data, "file": MARKUP, "paths": ["/media"]})
    page = browser.get(f"/visits/{visit}/proof").text.replace("\u00a0", " ")
    for words in ("hours that were expected are not on disk", "28.3 days kept", "95.0 %", "1 hole",
                  "38.0 h of 40.0 h", "fewer than promised", "promised: 28 days"):  # fmt: skip
        assert words in page, words
    assert MARKUP not in page
    german = browser.get(f"/visits/{visit}/proof", headers={"Accept-Language": "de"}).text
    assert "95,0\u00a0%" in german and "1 Lücke" in german
    (told,) = browser.get(f"/api/v1/visits/{visit}/coverage").json()
    assert (told["verdict"], told["current"]) == ("missing", True)
    assert [item["short"] for item in told["channels"]] == [False, True]


def test_every_kind_has_the_words_of_the_report() -> None:
    assert {kind: FINDINGS[kind] for kind in Kind} == KIND_WORDS
    assert UNTIMED


def test_german_figures() -> None:
    figures = Figures("de")
    # DIN 1333: a comma before decimals; a space before the unit (ISO 80000-1, 7.1.4).
    assert figures.measured(0.0213, "s") == "0,0213\u00a0s"
    assert figures.measured(1_500_000.0, "bit/s") == "1,50\u00a0Mbit/s"
    assert figures.share(0.99996) == "99,9\u00a0%", "what is not whole never reads as 100 %"
    assert figures.clock(3.0) == "0:03,0"


def test_folders_by_key(tmp_path: Path) -> None:
    for name in ("b", "a", ".hidden"):
        (tmp_path / name).mkdir()
    (tmp_path / "file.mp4").write_bytes(b"")
    made = DiskFolders({"here": tmp_path})
    (place,) = made.places()
    assert [folder.name for folder in place.folders] == ["", "a", "b"]
    assert made.path(place.folders[2].key) == tmp_path / "b"
    with pytest.raises(NotFound):
        made.path(folder_key("here", "c"))
