"""From the proof's page: counting the hours on disk, burned-in clocks, earlier pictures."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from tests.proof_visit import SECONDS, short_drive
from tests.visit_kit import MAP, VALUES, reading
from tests.web.kit import LAN, LAPTOP, PHONE, Browser, send, services, token

from asfound.jobs.visit_act import OverrideGate, TickStep, override, tick
from asfound.jobs.visit_journal import load_visit
from asfound.jobs.visit_record import RecordReading, record_as_found
from asfound.model.coverage import CoverageVerdict
from asfound.model.visit import CoverageTaken, VisitState
from asfound.ports.backends.folders_disk import DiskFolders
from asfound.ports.folders import folder_key

OPEN_217 = {"procedure": "inspection", "by": "Ines", "firmware": "1.0"}
START = datetime(2026, 11, 25, 19, 0, tzinfo=UTC)
EVENING = folder_key("Bus drive", "evening")
WAIT_S = 120.0
LOG = b"on,off\n2026-11-25T19:00:00Z,2026-11-25T19:00:12Z\n"
"""The twelve seconds that the simulator films."""


@pytest.fixture
def browser(tmp_path: Path) -> Browser:
    drive = tmp_path / "drive"
    short_drive(drive / "evening", START, cameras=2)
    (drive / "earlier").mkdir()
    made = Browser(replace(services(tmp_path), folders=DiskFolders({"Bus drive": drive})))
    made.headers["X-CSRF-Token"] = made.get("/api/v1/session").json()["csrf_token"]
    return made


@pytest.fixture
def visit(browser: Browser) -> str:
    desk = browser.server.services.desk
    made = send(browser, "/vehicles/217/open", OPEN_217).rpartition("/")[2]
    for step in ("locate", "power", "monitor"):
        tick(TickStep(made, step, "ada"), desk=desk)
    record_as_found(RecordReading(made, MAP, reading(VALUES, desk), "ada"), desk=desk)
    override(OverrideGate(made, "prove", "steps-done", "ada", "only the proof"), desk=desk)
    return made


def state(browser: Browser, visit: str) -> VisitState:
    desk = browser.server.services.desk
    return load_visit(visit, store=desk.store, blobs=desk.blobs)


def count(browser: Any, visit: str, file: tuple[str, bytes] | None = None, **fields: str) -> Any:
    page = browser.get(f"/visits/{visit}/proof").text
    found = re.search(r'name="head" value="([0-9a-f]+)"', page)
    known = {"csrf": token(browser), "head": found[1] if found else "", "by": "Ines"}
    name, data = file or ("", b"")
    return browser.post(
        f"/visits/{visit}/proof/cover",
        data={**known, "folder": EVENING, **fields},
        files={"hours": (name, data, "text/csv")},
    )


def counted(browser: Browser, visit: str) -> CoverageTaken:
    task = [item for item in browser.server.tasks.of(visit) if item.kind == "cover"][-1]
    ended = browser.server.tasks.wait(task.id, WAIT_S)
    assert ended.state == "done", ended
    return state(browser, visit).coverage[-1]


def test_hours_are_counted_against_a_log_that_was_sent(browser: Browser, visit: str) -> None:
    page = browser.get(f"/visits/{visit}/proof").text
    assert "Count the hours on disk" in page and "Burned-in clocks" in page
    answer = count(browser, visit, ("november.csv", LOG), against="file")
    assert answer.status_code == 303, answer.text
    taken = counted(browser, visit)
    assert (taken.against, taken.file, taken.by) == ("ignition", "november.csv", "Ines")
    shares = {item.channel: item.share for item in taken.coverage.channels}
    # Two cameras were filmed through the whole log.
    assert shares == pytest.approx({1: 1.0, 2: 1.0}, abs=0.1)
    assert "november.csv" in browser.get(f"/visits/{visit}/proof").text


def test_hours_are_counted_against_hours_that_were_typed(browser: Browser, visit: str) -> None:
    # 25 November 2026 is a Wednesday (ISO 8601 calendar); from 00:00 to 00:00 is a whole day.
    typed = {"against": "typed", "wed": "1", "from": "00:00", "to": "00:00"}
    typed |= {"days": "1,5", "until": "2026-11-26T00:00"}
    assert count(browser, visit, None, **typed).status_code == 303
    taken = counted(browser, visit)
    assert (taken.against, taken.file) == ("schedule", "wed 00:00–00:00")
    assert taken.coverage.verdict is CoverageVerdict.MISSING
    assert taken.coverage.days == 1.5
    assert taken.coverage.channels[0].expected_h == pytest.approx(24.0)
    assert taken.coverage.channels[0].held_h == pytest.approx(SECONDS / 3600, rel=0.2)


@pytest.mark.parametrize(
    ("file", "fields", "says"),
    [
        (None, {"against": "file"}, "no ignition log or schedule was chosen"),
        (("a.csv", b"when,what\n1,2\n"), {}, "a.csv:1: columns"),
        (("a.csv", b"\xff\xfe"), {}, "not UTF-8"),
        (("a.toml", b"format = 1"), {}, "a.toml"),
        (("a.csv", b"vehicle,on,off\n9,2026-11-25T19:00:00Z,2026-11-25T20:00:00Z\n"), {}, "9"),
        (None, {"against": "typed", "from": "05:00", "to": "06:00"}, "no day of the week"),
        (None, {"against": "typed", "mon": "1", "from": "25:00", "to": "06:00"}, "25:00"),
        (None, {"against": "typed", "mon": "1", "from": "5", "to": "06:00"}, "no clock time"),
        (("a.csv", LOG), {"days": "-1"}, "no number of days"),
        (("a.csv", LOG), {"days": "nan"}, "no number of days"),
        (("a.csv", LOG), {"until": "soon"}, "no date and time"),
        (("a.csv", LOG), {"folder": "0" * 16}, "not there any more"),
    ],
)
def test_what_cannot_be_counted_is_said_and_what_was_typed_kept(
    browser: Browser, visit: str, file: tuple[str, bytes] | None, fields: dict[str, str], says: str
) -> None:
    answer = count(browser, visit, file, **fields)
    assert answer.status_code in (404, 422), answer.text
    assert says in answer.text and "/tmp" not in re.sub(r"<option.*?</option>", "", answer.text)
    assert browser.server.tasks.of(visit) == []
    if fields.get("days") == "-1":
        assert 'value="-1"' in answer.text


def test_only_the_laptop_counts_and_only_from_the_page_that_was_seen(tmp_path: Path) -> None:
    made = replace(services(tmp_path), folders=DiskFolders({"Bus drive": tmp_path}))
    laptop = Browser(made, LAPTOP, lan=True)
    visit = send(laptop, "/vehicles/217/open", OPEN_217).rpartition("/")[2]
    phone = laptop.from_seat(PHONE)
    assert phone.base_url.host == LAN
    send(phone, "/pair", {"code": laptop.server.pairing.new_code().text, "name": "phone"})
    page = phone.get(f"/visits/{visit}/proof").text
    assert "Count the hours" not in page
    assert count(phone, visit, ("a.csv", LOG), head="0" * 64).status_code == 403
    whole = folder_key("Bus drive", "")
    old = count(laptop, visit, ("a.csv", LOG), head="0" * 64, folder=whole)
    assert old.status_code == 409


def test_a_count_is_stopped_from_the_page(
    browser: Browser, visit: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    tools = browser.server.services.tools
    video = tools.containers()
    facts = video.facts

    def slow(path: Path) -> Any:
        (task,) = browser.server.tasks.of(visit)
        send(browser, f"/visits/{visit}/proof/stop", {"task": task.id})
        return facts(path)

    monkeypatch.setattr(video, "facts", slow)
    monkeypatch.setattr(tools, "containers", lambda: video)
    count(browser, visit, ("a.csv", LOG))
    (task,) = browser.server.tasks.of(visit)
    assert browser.server.tasks.wait(task.id, WAIT_S).state == "stopped"
    assert state(browser, visit).coverage == ()
    assert "Counting was stopped" in browser.get(f"/visits/{visit}/proof").text


def look(browser: Browser, visit: str, **fields: str) -> Any:
    page = browser.get(f"/visits/{visit}/proof").text
    found = re.search(r'name="head" value="([0-9a-f]+)"', page)
    known = {"csrf": token(browser), "head": found[1] if found else "", "by": "Ines"}
    data = {**known, "folder": EVENING, **fields}
    return browser.post(f"/visits/{visit}/proof/start", data=data)


def asked_for(browser: Browser, monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """What the job is asked, instead of looking: reading clocks takes an engine."""
    made: list[Any] = []

    def only_note(request: Any, **rest: Any) -> Any:
        made.append(request)
        return state(browser, request.visit)

    monkeypatch.setattr("asfound.web.proving.visit_prove", only_note)
    return made


def test_clock_options_reach_the_job(
    browser: Browser, visit: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = asked_for(browser, monkeypatch)
    noted = {"clock_shown": "2026-03-01T14:07:30", "clock_true": "2026-03-01T14:03"}
    asked = look(browser, visit, clock="1", clock_zone="+01:00", clock_limit="0,5", **noted)
    assert asked.status_code == 303, asked.text
    browser.server.tasks.wait(browser.server.tasks.of(visit)[-1].id, WAIT_S)
    ask = made[-1].clock
    assert (ask.zone, ask.wanted, ask.limit_s) == ("+01:00", True, 0.5)
    assert ask.noted[0] - ask.noted[1] == timedelta(minutes=4, seconds=30)
    # Without the tick nothing of it counts, and the zone is the fleet's where none is given.
    look(browser, visit, clock_zone="+01:00")
    browser.server.tasks.wait(browser.server.tasks.of(visit)[-1].id, WAIT_S)
    assert not made[-1].clock.wanted and made[-1].clock.zone == ""
    look(browser, visit, clock="1")
    browser.server.tasks.wait(browser.server.tasks.of(visit)[-1].id, WAIT_S)
    assert made[-1].clock.zone == "Europe/London"


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"clock_zone": "Middle/Earth"}, "is not known"),
        ({"clock_shown": "2026-03-01T14:07:30"}, "needs both"),
        ({"clock_shown": "noon", "clock_true": "noon"}, "no date and time"),
        (
            {"clock_shown": "2026-03-01T14:07:30Z", "clock_true": "2026-03-01T14:07:30"},
            "both have a zone",
        ),
        ({"clock_limit": "0"}, "more than 0"),
        ({"clock_limit": "much"}, "no number of seconds"),
        ({"clock_limit": "nan"}, "more than 0"),
    ],
)
def test_clock_options_that_cannot_be_are_refused(
    browser: Browser, visit: str, fields: dict[str, str], says: str
) -> None:
    answer = look(browser, visit, clock="1", **fields)
    assert answer.status_code == 422 and says in answer.text
    assert browser.server.tasks.of(visit) == []
    # What was typed is still there to be mended.
    assert re.search(r'<input type="checkbox" name="clock" value="1" checked>', answer.text)


def test_earlier_pictures_come_from_a_folder_that_was_named(
    browser: Browser, visit: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = asked_for(browser, monkeypatch)
    empty = look(browser, visit, reference=folder_key("Bus drive", "earlier"))
    assert empty.status_code == 422 and "no picture in this folder" in empty.text
    file = tmp_path / "drive" / "earlier" / "ch1.jpg"
    Image.fromarray(np.zeros((90, 160, 3), np.uint8)).save(file)
    assert look(browser, visit, reference=folder_key("Bus drive", "earlier")).status_code == 303
    browser.server.tasks.wait(browser.server.tasks.of(visit)[-1].id, WAIT_S)
    assert made[-1].references == (file,)
    assert look(browser, visit, reference="../..").status_code == 404


def test_counting_and_clocks_over_http(
    browser: Browser, visit: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = f"/api/v1/visits/{visit}"
    body = {"head": state(browser, visit).head, "by": "ada", "folder": EVENING}
    begun = browser.post(f"{path}/coverage", json={**body, "log": LOG.decode(), "days": 1})
    assert begun.status_code == 202 and begun.json()["kind"] == "cover"
    assert counted(browser, visit).coverage.days == 1
    body["head"] = state(browser, visit).head
    hours = {"days": ["wed", "thu"], "start": "05:00", "end": "24:00"}
    begun = browser.post(f"{path}/coverage", json={**body, "hours": hours})
    assert begun.status_code == 202, begun.text
    assert counted(browser, visit).file == "wed thu 05:00–24:00"
    neither = browser.post(f"{path}/coverage", json=body)
    assert neither.status_code == 422
    made = asked_for(browser, monkeypatch)
    body["head"] = state(browser, visit).head
    clock = {"zone": "+02:00", "limit_s": 3}
    assert browser.post(f"{path}/proof", json={**body, "clock": clock}).status_code == 202
    browser.server.tasks.wait(browser.server.tasks.of(visit)[-1].id, WAIT_S)
    assert (made[-1].clock.zone, made[-1].clock.limit_s) == ("+02:00", 3.0)
