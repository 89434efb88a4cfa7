"""Pages and resources of requests for footage, deletions and bags.

How hours are worked out is held by tests/jobs and tests/calc; these hold what pages show and keep.
Rules about fields, names and holds are the project's own (docs/requests.md).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from httpx2 import Response
from starlette.testclient import TestClient
from tests.visit_kit import VEHICLE
from tests.web.kit import OTHERS, PHONE, Browser, SmallShelf, send, services, token
from tests.worked_visit import fleet_home, up_to_keys

from asfound.cli.serve_parts import services as home_services
from asfound.jobs.bag_verify import TAG_MANIFEST
from asfound.jobs.evidence_copy import CopyEvidence, Desk, copy_evidence
from asfound.ports.backends.bag_disk import DiskNewBag
from asfound.ports.backends.clock_system import SystemClock
from asfound.ports.backends.pdf_typst import TypstPdf
from asfound.ports.backends.signatures_ed25519 import Ed25519
from asfound.ports.backends.video_av import AvVideo
from asfound.ports.progress import Progress
from asfound.web.routes import PREFIX

PATIENCE_S = 60.0
NEW = "/requests/new"
SCHEDULE = b"""
format = "asfound-schedule/1"
zone = "Europe/Madrid"
[[hours]]
days = ["mon"]
from = "05:30"
to = "23:45"
"""


class LimitedShelf(SmallShelf):
    """A fleet whose footage is lawful to keep for 31 days."""

    def __init__(self) -> None:
        super().__init__()
        self._fleet = replace(self._fleet, maximum_days=31, hours_a_day=8.0)


@pytest.fixture
def browser(tmp_path: Path) -> Iterator[Browser]:
    with Browser(services(tmp_path, LimitedShelf())) as made:
        yield made


def asked(browser: Browser, **fields: str) -> dict[str, str]:
    """A form as somebody fills it in: half an hour, yesterday by the clock of the tests."""
    now = browser.server.services.desk.clock.now() - timedelta(days=1)
    start = now.replace(microsecond=0, tzinfo=None)
    wanted = {
        "vehicle": "217", "start": f"{start:%Y-%m-%dT%H:%M}",
        "end": f"{start + timedelta(minutes=30):%Y-%m-%dT%H:%M}", "channels": "",
        "why": "collision at the gate", "authority": "insurer, consent of the operator",
        "by": "Ines",
    }  # fmt: skip
    return wanted | fields


def head(client: TestClient, path: str) -> str:
    found = re.search(r'name="head" value="([0-9a-f]*)"', client.get(path).text)
    assert found
    return found[1]


def told(page: str) -> str:
    """The page's words, without its marks."""
    return " ".join(re.sub(r"<[^>]+>", " ", page).split())


def test_from_asking_to_closing(browser: Browser) -> None:
    empty = browser.get("/requests").text
    assert "Nobody waits for footage." in empty
    path = send(browser, NEW, asked(browser, channels="1", hold="1"))
    assert path == "/requests/ask-217-1"
    page = told(browser.get(path).text)
    for words in ("Footage of vehicle 217", "on hold", "collision at the gate", "hold-217-1",
                  "insurer, consent of the operator", "cannot be told"):  # fmt: skip
        assert words in page
    assert "neither a proof nor settings of this vehicle are known" in page
    for where in ("/requests", "/", "/vehicles/217", "/vehicles/217/holds"):
        assert "ask-217-1" in browser.get(where).text, where
    fields = {"head": head(browser, path), "act": "answer", "by": "Ines"}
    copies = {"reason": "copied at the depot", "copies": "217 front.mkv\n\n217 side.mkv\n"}
    assert send(browser, f"{path}/answer", fields | copies) == path
    page = told(browser.get(path).text)
    assert "answered it: copied at the depot" in page and "217 front.mkv, 217 side.mkv" in page
    assert "ask-217-1" in browser.get("/requests").text
    fields = {"head": head(browser, path), "act": "close", "by": "Ines", "reason": "handed over"}
    send(browser, f"{path}/close", fields)
    assert "Answer it" not in browser.get(path).text
    listed = browser.get("/requests").text
    assert "ask-217-1" not in listed and "Show 1 closed request, too" in listed
    assert "ask-217-1" in browser.get("/requests?closed=1").text
    (hold,) = browser.server.services.desk.store.holds("217")
    assert hold.active and "Footage is asked for" not in browser.get("/vehicles/217").text


@pytest.mark.parametrize(
    ("wrong", "part", "says"),
    [
        ({"vehicle": ""}, "vehicle", "say which vehicle"),
        ({"vehicle": "999"}, "vehicle", "no vehicle"),
        ({"start": "soon"}, "start", "is no date and time"),
        ({"start": "2999-01-01T08:00", "end": "2999-01-01T09:00"}, "start", "2000 to 2099"),
        ({"start": "2098-01-01T08:00", "end": "2098-01-01T09:00"}, "start", "in the future"),
        ({"end": "2001-01-01T08:00"}, "end", "ends before it starts"),
        ({"channels": "front"}, "channels", "are no channels"),
        ({"channels": "1,77"}, "channels", "has no channel 77"),
        ({"why": " "}, "why", "what the footage is wanted for"),
        ({"why": "a claim\u202e"}, "why", "unseen character"),
        ({"authority": ""}, "authority", "by what right"),
        ({"clock_ahead_s": "a lot"}, "clock_ahead_s", "is no number of seconds"),
        ({"clock_ahead_s": "inf"}, "clock_ahead_s", "is no number of seconds"),
        ({"clock_ahead_s": "1e12"}, "clock_ahead_s", "give seconds"),
    ],
)
def test_a_fault_stands_at_its_field_and_nothing_typed_is_lost(
    browser: Browser, wrong: dict[str, str], part: str, says: str
) -> None:
    fields = asked(browser, channels="1", hold="1") | wrong
    answer = browser.post(NEW, data={"csrf": token(browser), **fields})
    assert answer.status_code == 422
    told_at = re.findall(r'id="([a-z_]+)-wrong"[^>]*>.*?<span>([^<]+)</span>', answer.text)
    assert [name for name, _ in told_at] == [part]
    assert says in told_at[0][1] and "--" not in told_at[0][1]
    for value in fields.values():
        assert f'value="{value}"' in answer.text or f">{value}</textarea>" in answer.text
    assert browser.get(f"{PREFIX}/requests").json() == []
    assert browser.server.services.desk.store.holds() == []


def test_without_a_token_nothing_is_written(browser: Browser) -> None:
    for path in (NEW, "/requests/deletions", "/evidence/verify", "/requests/ask-217-1/close"):
        assert browser.post(path, data=asked(browser)).status_code == 403
    assert browser.get(f"{PREFIX}/requests?state=all").json() == []


def test_a_hold_of_a_request_locks_the_drive_step_of_a_visit_on_another_seat(
    tmp_path: Path,
) -> None:
    made = services(tmp_path, LimitedShelf())
    with Browser(made, lan=True) as laptop:
        fields = {"procedure": "firmware-and-reset", "by": "Bo"}
        visit = send(laptop, "/vehicles/217/open", fields)
        before = laptop.get(f"{PREFIX}{visit}").json()
        # Another server process on the same database, as another laptop of the office has.
        with Browser(services(tmp_path, LimitedShelf())) as office:
            path = send(office, NEW, asked(office))
            assert send(office, f"{path}/hold", {"by": "Office"}) == path
            assert "hold-217-1" in told(office.get(path).text)
        page = laptop.get(visit).text
        assert "footage is held" in page
        drive = {"step": "drive", "head": before["head"], "by": "Bo", "csrf": token(laptop)}
        refused = laptop.post(f"{visit}/done", data=drive)
        assert refused.status_code == 409 and "hold-217-1" in refused.text
        over = {**drive, "gate": "no-hold", "reason": "in a hurry"}
        # What is on hold was written into the visit meanwhile: the head is a new one.
        over["head"] = laptop.get(f"{PREFIX}{visit}").json()["head"]
        assert laptop.post(f"{visit}/override", data=over).status_code == 422


def test_somebody_else_wrote_meanwhile(browser: Browser) -> None:
    path = send(browser, NEW, asked(browser))
    other = TestClient(browser.app, str(browser.base_url), client=("127.0.0.1", 50001))
    other.follow_redirects = False
    old = head(browser, path)
    send(other, f"{path}/answer", {"head": old, "by": "Bo", "reason": "told the insurer"})
    mine = {"csrf": token(browser), "head": old, "act": "close", "by": "Ines", "reason": "no use"}
    refused = browser.post(f"{path}/close", data=mine)
    assert refused.status_code == 409
    for words in ("somebody else wrote here", "New since you loaded", "told the insurer", "no use"):
        assert words in told(refused.text)
    new = head(browser, path)
    assert new != old and f'value="{new}"' in refused.text
    send(browser, f"{path}/close", mine | {"head": new})
    closed = browser.post(f"{path}/close", data=mine | {"head": head_of(browser, path)})
    assert closed.status_code == 422 and "closed by Ines already" in closed.text


def head_of(browser: Browser, path: str) -> str:
    answer = browser.get(f"{PREFIX}{path}").json()
    return str(answer["head"])


def test_deletions_are_due_held_and_logged(browser: Browser) -> None:
    path = send(browser, NEW, asked(browser, vehicle="41", hold="1"))
    made = {"head": head(browser, path), "by": "Ines", "reason": "copied", "copies": "41.mkv"}
    send(browser, f"{path}/answer", made)
    page = told(browser.get("/requests/deletions").text)
    assert "2 overdue" in page and "2 on hold" in page and "copy 41.mkv of ask-41-1" in page
    where = "/requests/deletions"
    fields = {"head": "", "item": "events-217", "by": "Ines", "note": "menu page 4, list empty"}
    held = {"csrf": token(browser), **fields, "item": "events-41"}
    refused = browser.post(where, data=held)
    assert refused.status_code == 422 and "hold-41-1" in refused.text
    assert "asfound hold release" not in refused.text
    blank = browser.post(where, data={"csrf": token(browser), **fields, "note": " "})
    assert blank.status_code == 422 and "how it was deleted" in blank.text
    send(browser, where, fields)
    page = told(browser.get(where).text)
    assert "1 overdue" in page and "events-217 menu page 4, list empty Ines" in page
    late = browser.post(where, data={"csrf": token(browser), **fields, "note": "once more"})
    assert late.status_code == 409 and "once more" in late.text
    api = browser.get(f"{PREFIX}/deletions").json()
    assert [one["item"] for one in api["done"]] == ["events-217"]
    assert {one["item"] for one in api["due"] if one["held"]} == {"events-41", "ask-41-1/copy-1"}


def test_without_a_limit_nothing_is_due(tmp_path: Path) -> None:
    with Browser(services(tmp_path)) as browser:
        assert "The fleet file names no limit." in browser.get("/requests/deletions").text


def test_requests_over_http(browser: Browser) -> None:
    key = {"X-CSRF-Token": browser.get(f"{PREFIX}/session").json()["csrf_token"]}
    now = browser.server.services.desk.clock.now()
    body = {
        "vehicle": OTHERS[0].plate, "start": (now - timedelta(hours=2)).isoformat(),
        "end": (now - timedelta(hours=1)).isoformat(), "why": "claim", "authority": "insurer",
        "by": "office", "clock_ahead_s": 90.0,
    }  # fmt: skip
    assert browser.post(f"{PREFIX}/requests", json=body).status_code == 403
    made = browser.post(f"{PREFIX}/requests", json=body, headers=key)
    assert made.status_code == 201
    one = made.json()
    assert (one["id"], one["vehicle"], one["state"], one["hold"]) == (
        "ask-41-1",
        "41",
        "open",
        None,
    )
    shown = datetime.fromisoformat(one["recorder_from"]) - datetime.fromisoformat(one["start"])
    assert shown == timedelta(seconds=90)
    where = f"{PREFIX}/requests/{one['id']}"
    hold = browser.post(f"{where}/hold", json={"by": "office"}, headers=key).json()
    assert hold["active"] and hold["vehicle"] == "41"
    wrong = browser.post(
        f"{where}/close", json={"head": "0", "reason": "x", "by": "y"}, headers=key
    )
    assert wrong.status_code == 409 and wrong.json()["type"].endswith("head-moved")
    end = {"head": one["head"], "reason": "handed over", "by": "office", "copies": ["a.mkv"]}
    answered = browser.post(f"{where}/answer", json=end, headers=key).json()
    assert (answered["state"], answered["copies"]) == ("answered", ["a.mkv"])
    assert browser.get(f"{PREFIX}/requests").json() == []
    assert [item["id"] for item in browser.get(f"{PREFIX}/requests?state=all").json()] == [
        one["id"]
    ]
    assert browser.get(f"{PREFIX}/requests/ask-41-9").status_code == 404
    bad = browser.post(f"{PREFIX}/requests", json=body | {"channels": [99]}, headers=key)
    assert bad.status_code == 422 and "no channel 99" in bad.json()["detail"]


def test_a_damaged_log_is_told_and_keeps_nobody_from_the_visits(browser: Browser) -> None:
    send(browser, NEW, asked(browser))
    store = browser.server.services.desk.store
    with store._engine.begin() as connection:  # type: ignore[attr-defined] # tampering needs it
        connection.exec_driver_sql("UPDATE request_entry SET data = replace(data, 'gate', 'door')")
    page = browser.get("/")
    assert page.status_code == 200 and "Requests for footage:" in page.text
    assert browser.get("/requests").status_code == 409


def test_what_a_visit_reads_meanwhile_changes_the_answer(tmp_path: Path) -> None:
    home = fleet_home(tmp_path)
    with Browser(home_services(home)) as browser:
        path = send(browser, NEW, asked(browser, hold="1"))
        before = told(browser.get(path).text)
        assert "neither a proof nor settings" in before and "earliest" not in before
        up_to_keys(home)
        after = told(browser.get(path).text)
        assert "by the sums of its settings" in after and "Copy it before" in after
        api = browser.get(f"{PREFIX}{path}").json()
        assert api["overwritten_from"] == sorted(api["overwritten_from"])
        at = datetime.fromisoformat(api["overwritten_from"][0])
        # The page says the hour that the interface says, in the fleet's zone.
        said = f"{at.astimezone(home.zone()):%H:%M}"
        assert re.search(rf"Copy it before \d+ \w+ \d{{4}}, {said}", after), after
        # Fewer days a week overwrite later.
        rarer = browser.get(f"{PREFIX}{path}?week=2").json()
        assert rarer["overwritten_from"][1] > api["overwritten_from"][1]


def by_log(browser: Browser, path: str, text: str, **more: str) -> Response:
    """The page after an ignition log was sent to it."""
    files = {"log": ("drives.csv", text.encode(), "text/csv")}
    return browser.post(f"{path}/log", data={"csrf": token(browser), **more}, files=files)


def test_hours_by_an_ignition_log_that_is_sent(tmp_path: Path) -> None:
    home = fleet_home(tmp_path)
    up_to_keys(home)
    with Browser(home_services(home)) as browser:
        path = send(browser, NEW, asked(browser))
        now = browser.server.services.desk.clock.now()
        evenly = told(browser.get(path).text)
        # It stood still since the footage: what 22 hours a day would have overwritten is later.
        off, on = now - timedelta(hours=23, minutes=50), now - timedelta(days=3)
        drives = ((on, off), (now - timedelta(minutes=5), now))
        still = "on,off\n" + "".join(f"{a.isoformat()},{b.isoformat()}\n" for a, b in drives)
        answer = by_log(browser, path, still)
        page = told(answer.text)
        assert answer.status_code == 200 and "By the ignition log drives.csv." in page
        assert hours_said(page) > hours_said(evenly)
        # Nothing of it is kept.
        assert hours_said(told(browser.get(path).text)) == hours_said(evenly)
        browser.headers["Accept-Language"] = "de"
        assert "Nach dem Zündungsprotokoll drives.csv." in told(by_log(browser, path, still).text)
        browser.headers["Accept-Language"] = "en"
        wrong = by_log(browser, path, f"vehicle,{still}".replace("\n2", "\nbus,2"))
        assert wrong.status_code == 404 and "drives.csv" in wrong.text and "<h1>" in wrong.text
        named = f"vehicle,{still}".replace("\n2", "\nbus,2")
        assert by_log(browser, path, named, log_vehicle="bus").status_code == 200
        bad = by_log(browser, path, "vehicle,when\nbus,1\n", log_vehicle="bus")
        assert (
            bad.status_code == 422
            and "neither on and off" in bad.text
            and 'value="bus"' in bad.text
        )
        files = {"log": ("plan.toml", SCHEDULE, "text/plain")}
        plan = browser.post(f"{path}/log", data={"csrf": token(browser)}, files=files)
        assert plan.status_code == 422 and "a schedule says when" in plan.text
        assert (
            "choose a file first" in browser.post(f"{path}/log", data={"csrf": token(browser)}).text
        )
        assert by_log(browser, "/requests/ask-217-9", still).status_code == 404


def test_a_log_that_changes_nothing_is_not_said_to_count(tmp_path: Path) -> None:
    with Browser(home_services(fleet_home(tmp_path))) as browser:
        path = send(browser, NEW, asked(browser))
        drives = "on,off\n2026-11-01T08:00:00Z,2026-11-01T09:00:00Z\n"
        page = told(by_log(browser, path, drives).text)
        assert "neither a proof nor settings" in page
        assert "drives.csv changes nothing here" in page and "By the ignition log" not in page


def hours_said(page: str) -> datetime:
    """The hour before which the page says to copy."""
    found = re.search(r"Copy it before (\d+ \w+ \d{4}, \d\d:\d\d)", page)
    assert found, page
    return datetime.strptime(found[1], "%d %b %Y, %H:%M").replace(tzinfo=UTC)


@pytest.fixture
def bags(tmp_path: Path) -> Path:
    """A folder with a signed bag of two files."""
    folder, source = tmp_path / "bags", tmp_path / "drive"
    folder.mkdir()
    source.mkdir()
    for name in ("a.mp4", "b.mp4"):
        (source / name).write_bytes(name.encode() * 500)
    moment = datetime(2026, 3, 9, 8, 0, tzinfo=UTC)
    request = CopyEvidence(
        (source,), VEHICLE.number, moment, moment + timedelta(hours=1), "Ines", "claim", 0.0, True,
    )  # fmt: skip
    key = Ed25519().pair(bytes(range(32)))
    desk = Desk(AvVideo(), Ed25519(), SystemClock(), TypstPdf())
    copy_evidence(request, key, bag=DiskNewBag(folder / "claim 12"), desk=desk)
    return folder


PUBLIC = Ed25519().pair(bytes(range(32))).public.hex()


def verified(browser: Browser, name: str, public: str = "") -> str:
    """The page after a bag was verified."""
    key = next(
        folder.key
        for place in browser.server.services.bags.places()
        for folder in place.folders
        if folder.name == name
    )
    send(browser, "/evidence/verify", {"folder": key, "public": public})
    (task,) = browser.server.tasks.of(key)[-1:]
    assert browser.server.tasks.wait(task.id, PATIENCE_S).state != "running"
    return told(browser.get("/evidence").text)


def test_a_bag_is_verified_and_what_was_done_to_it_is_told(tmp_path: Path, bags: Path) -> None:
    home = tmp_path / "home"
    home.mkdir()
    with Browser(services(home, bags={"Claims": bags})) as browser:
        page = verified(browser, "claim 12")
        assert "Whole: every file is what was packed." in page and PUBLIC in page
        assert "Signed with the key that was given" in verified(browser, "claim 12", f" {PUBLIC} ")
        other = Ed25519().pair(bytes(32)).public.hex()
        page = verified(browser, "claim 12", other)
        assert "This is not what was packed." in page and "another key" in page
        data = sorted((bags / "claim 12" / "data").rglob("*.mp4"))
        data[0].write_bytes(b"x" * data[0].stat().st_size)
        data[1].unlink()
        (data[1].parent / "c.mp4").write_bytes(b"new")
        page = verified(browser, "claim 12")
        for words in ("changed", "missing", "added", "c.mp4", "is listed and not there"):
            assert words in page
        key = browser.get(f"{PREFIX}/bags").json()[1]["key"]
        api = browser.get(f"{PREFIX}/bags/{key}").json()
        assert not api["whole"]
        assert {one["kind"] for one in api["faults"]} >= {"changed", "missing", "added"}
        (bags / "claim 12" / TAG_MANIFEST).unlink()
        assert "No signature that holds" in verified(browser, "claim 12")


def test_no_path_from_a_request_is_opened_and_phones_begin_nothing(
    tmp_path: Path, bags: Path
) -> None:
    home = tmp_path / "home"
    home.mkdir()
    with Browser(services(home, bags={"Claims": bags}), lan=True) as browser:
        for folder in (str(bags / "claim 12"), "../bags", "", "0" * 16):
            fields = {"csrf": token(browser), "folder": folder, "public": "ab"}
            answer = browser.post("/evidence/verify", data={**fields, "public": ""})
            assert answer.status_code == 404
        bad = browser.post("/evidence/verify", data={**fields, "public": "ab"})
        assert bad.status_code == 422 and 'id="public-wrong"' in bad.text
        assert 'value="ab"' in bad.text
        key = browser.get(f"{PREFIX}/bags").json()[0]["key"]
        phone = browser.from_seat(PHONE)
        assert phone.post(f"{PREFIX}/bags/{key}/verify", json={}).status_code in (401, 403)
        assert browser.get(f"{PREFIX}/bags/{key}").status_code == 404
    with Browser(services(home)) as browser:
        assert "asfound serve --bags DIR=NAME" in browser.get("/evidence").text


def test_verifying_shows_how_far_it_is_and_can_be_stopped(tmp_path: Path, bags: Path) -> None:
    home = tmp_path / "home"
    home.mkdir()
    with Browser(services(home, bags={"Claims": bags})) as browser:
        tasks = browser.server.tasks
        key = browser.get(f"{PREFIX}/bags").json()[1]["key"]
        task = tasks.start("verify", key, "Verifying a bag", endless)
        page = browser.get("/evidence").text
        assert "<progress" in page and "claim 12" in page
        again = {"csrf": token(browser), "folder": key}
        assert browser.post("/evidence/verify", data=again).status_code == 422
        send(browser, "/evidence/stop", {"task": task.id})
        assert tasks.wait(task.id, PATIENCE_S).state == "stopped"
        assert "was stopped, so nothing can be said of it" in browser.get("/evidence").text


def endless(progress: Progress) -> str:
    """Work that goes on until it is stopped."""
    while True:
        progress(1, 2, "a.mp4")


def test_footage_is_copied_signed_and_verified_from_pages(tmp_path: Path) -> None:
    home, drive, claims = (tmp_path / name for name in ("home", "drive", "claims"))
    for folder in (home, drive, claims):
        folder.mkdir()
    # Minutes of 2026-11-20 from 08:00 UTC (tests/evidence_kit.py); the clock was 60 s fast.
    for name in ("ch1-00", "ch1-05", "never-06"):
        (drive / f"{name}.mp4").write_bytes(name.encode())
    made = services(home, LimitedShelf(), {"Claims": claims}, {"Drive": drive})
    with Browser(made, lan=True) as browser:
        span = {"start": "2026-11-20T08:03", "end": "2026-11-20T08:06", "clock_ahead_s": "60"}
        path = send(browser, NEW, asked(browser, **span)) + "/copy"
        page = browser.get(path).text
        assert 'value="60"' in page and 'value="217 ask-217-1"' in page
        place = made.bags.places()[0].folders[0].key
        fields = {"folder": made.folders.places()[0].folders[0].key, "place": place,
                  "name": "217 claim", "offset": "60", "by": "Ines"}  # fmt: skip
        for part, value in (("name", "../out"), ("name", ".hidden"), ("name", "a/b"),
                            ("name", "a\x07"), ("offset", "soon"), ("offset", "nan")):  # fmt: skip
            wrong = {"csrf": token(browser), **fields, part: value}
            answer = browser.post(path, data=wrong)
            assert answer.status_code == 422 and f'id="{part}-wrong"' in answer.text
        wrong = {"csrf": token(browser), **fields, "place": str(claims)}
        assert browser.post(path, data=wrong).status_code == 404
        assert list(claims.iterdir()) == []
        send(browser, path, fields)
        (task,) = browser.server.tasks.of("ask-217-1")[-1:]
        assert browser.server.tasks.wait(task.id, PATIENCE_S).state == "done"
        page = told(browser.get(path).text)
        assert "1 file was copied, read again and found the same." in page
        assert "Left out:" in page and "never-06" in page
        assert (claims / "217 claim" / "data" / "ch1-05.mp4").read_bytes() == b"ch1-05"
        assert "Whole: every file is what was packed." in verified(browser, "217 claim")
        # Nothing is written over: the same name once more is told, and the bag stays.
        send(browser, path, fields)
        (task,) = browser.server.tasks.of("ask-217-1")[-1:]
        assert browser.server.tasks.wait(task.id, PATIENCE_S).state == "failed"
        assert "choose another name" in told(browser.get(path).text)
        assert "Whole: every file is what was packed." in verified(browser, "217 claim")
        phone = browser.from_seat(PHONE)
        assert phone.post(path, data=fields).status_code in (401, 403)
