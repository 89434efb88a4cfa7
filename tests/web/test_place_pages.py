"""Where the recorder sits, with a photograph; what changed when; holds over HTTP."""

from __future__ import annotations

import io
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from tests.visit_kit import MAP, VALUES, reading
from tests.web.kit import LAPTOP, PHONE, Browser, send, services, token

from asfound.jobs.visit_act import OverrideGate, TickStep, override, tick
from asfound.jobs.visit_journal import Book
from asfound.jobs.visit_record import RecordReading, record_as_found, record_as_left

API = "/api/v1/vehicles/217"
OPEN = {"procedure": "firmware-and-reset", "by": "Ines", "firmware": "1.0"}


@pytest.fixture
def browser(tmp_path: Path) -> Browser:
    made = Browser(services(tmp_path))
    made.headers["X-CSRF-Token"] = made.get("/api/v1/session").json()["csrf_token"]
    return made


def photo(shade: int = 90) -> bytes:
    out = io.BytesIO()
    Image.fromarray(np.full((600, 900, 3), shade, np.uint8)).save(out, "PNG")
    return out.getvalue()


def add(browser: Any, data: bytes, by: str = "Ines", path: str = "/vehicles/217/place") -> Any:
    files = {"photo": ("seat.png", data, "image/png")}
    return browser.post(path, data={"csrf": token(browser), "by": by}, files=files)


def shown(page: str) -> list[str]:
    return re.findall(r'src="(/vehicles/217/place/[0-9a-f]{64}\.jpg)\?small=1"', page)


def test_the_photograph_is_shown_where_somebody_looks_for_the_recorder(browser: Browser) -> None:
    page = browser.get("/vehicles/217").text
    assert "under the driver" in page and "Add a photograph of the place" in page
    assert shown(page) == []
    assert add(browser, photo()).headers["location"] == "/vehicles/217"
    visit = send(browser, "/vehicles/217/open", OPEN)
    for path in ("/vehicles/217", "/vehicles/217/open", visit):
        (address,) = shown(browser.get(path).text)
        for query in ("", "?small=1"):
            answer = browser.get(address + query)
            assert (answer.status_code, answer.headers["content-type"]) == (200, "image/jpeg")
    # Once the recorder is found nobody has to look for it any more.
    head = re.search(r'data-head="([0-9a-f]+)"', browser.get(visit).text)
    assert head
    send(browser, f"{visit}/done", {"head": head[1], "step": "locate", "by": "Ines"})
    assert shown(browser.get(visit).text) == []


def test_a_photograph_is_replaced_and_taken_away(browser: Browser) -> None:
    add(browser, photo())
    (first,) = shown(browser.get("/vehicles/217").text)
    add(browser, photo(200), "Bo")
    page = browser.get("/vehicles/217").text
    (second,) = shown(page)
    assert second != first and "Bo" in page
    assert browser.get(first).status_code == 404
    send(browser, "/vehicles/217/place/drop", {"by": "Ines"})
    assert shown(browser.get("/vehicles/217").text) == []
    again = browser.post("/vehicles/217/place/drop", data={"csrf": token(browser), "by": "Ines"})
    assert again.status_code == 404 and "no photograph" in again.text


@pytest.mark.parametrize(
    ("data", "by", "says"),
    [
        (b"", "Ines", "no photograph was chosen"),
        (b"plain text", "Ines", "not a picture"),
        (photo()[:200], "Ines", "damaged or cut short"),
    ],
)
def test_what_is_no_photograph_is_said_on_the_page(
    browser: Browser, data: bytes, by: str, says: str
) -> None:
    answer = add(browser, data, by)
    assert answer.status_code == 422 and says in answer.text
    assert 'role="alert"' in answer.text and "<details" in answer.text
    assert shown(browser.get("/vehicles/217").text) == []


def test_a_vehicle_with_an_odd_number_and_one_that_is_not_there(browser: Browser) -> None:
    row = browser.get("/api/v1/vehicles").json()["vehicles"][-1]["vehicle"]
    path = f"/vehicles/{row['key']}/place"
    assert add(browser, photo(), path=path).status_code == 303
    assert f"/vehicles/{row['key']}/place/" in browser.get(f"/vehicles/{row['key']}").text
    assert add(browser, photo(), path="/vehicles/999/place").status_code == 404


def test_who_is_not_paired_neither_sees_nor_sends(tmp_path: Path) -> None:
    laptop = Browser(services(tmp_path), LAPTOP, lan=True)
    add(laptop, photo())
    (address,) = shown(laptop.get("/vehicles/217").text)
    phone = laptop.from_seat(PHONE)
    assert phone.get(address).status_code in (303, 401)
    assert phone.get(f"{API}/place").status_code == 401
    assert phone.put(f"{API}/place?by=x", content=photo()).status_code in (401, 403)


def test_the_place_over_http(browser: Browser) -> None:
    bare = browser.get(f"{API}/place").json()
    assert bare["place"] == "under the driver's seat" and bare["picture"] is None
    made = browser.put(f"{API}/place", params={"by": "ada"}, content=photo()).json()
    assert browser.get(made["address"]).headers["content-type"] == "image/jpeg"
    assert browser.get(f"{API}/place").json() == made and made["by"] == "ada"
    wrong = browser.put(f"{API}/place", params={"by": "ada"}, content=b"text")
    assert wrong.status_code == 422 and wrong.json()["type"].endswith("/picture")
    gone = browser.delete(f"{API}/place", params={"by": "ada"})
    assert gone.json()["picture"] is None
    assert browser.delete(f"{API}/place", params={"by": "ada"}).status_code == 404


def closed_visit(browser: Browser, size: str, as_found: str) -> str:
    """A closed visit that found camera 1 at one size and left it at another."""
    desk = browser.server.services.desk
    visit = send(browser, "/vehicles/217/open", OPEN).rpartition("/")[2]
    for step in ("locate", "power", "monitor"):
        tick(TickStep(visit, step, "ada"), desk=desk)
    found = reading(VALUES | {"camera-1.size": as_found}, desk)
    record_as_found(RecordReading(visit, MAP, found, "ada"), desk=desk)
    past = OverrideGate(visit, "read-left", "steps-done", "ada", "only the settings count here")
    override(past, desk=desk)
    left = reading(VALUES | {"camera-1.size": size}, desk)
    record_as_left(RecordReading(visit, MAP, left, "ada"), desk=desk)
    # The gates of closing are tested elsewhere.
    Book(visit, desk).write("bo", "closed", {"step": "close", "note": ""})
    return visit


def test_what_changed_when(browser: Browser) -> None:
    page = browser.get("/vehicles/217/settings").text
    assert "No visit was closed yet" in page
    first = closed_visit(browser, "CIF", "HD")
    second = closed_visit(browser, "CIF", "HD")
    send(browser, "/vehicles/217/open", OPEN)
    page = browser.get("/vehicles/217/settings").text
    assert page.index(second) < page.index(first), "newest first"
    assert "1 visit is still open and not in it." in page
    text = re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", page))
    assert "Size Camera 1 HD CIF in this visit" in text
    assert "Size Camera 1 CIF HD between the visits" in text
    assert "5 settings known" in text
    told = browser.get(f"{API}/settings").json()
    assert [item["visit"] for item in told] == [second, first]
    assert [change["moment"] for change in told[0]["changes"]] == ["between", "visit"]
    assert told[1]["first"] is True and told[0]["unknown"] == 0
    assert browser.get("/vehicles/217/settings", params={"page": 2}).status_code == 200
    assert browser.get("/vehicles/999/settings").status_code == 404


def test_the_history_turns_its_pages(browser: Browser, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("asfound.web.view_history.SHOWN", 2)
    visits = [closed_visit(browser, size, size) for size in ("HD", "CIF", "HD")]
    first = browser.get(f"{API}/settings").json()
    assert [item["visit"] for item in first] == visits[:0:-1]
    # The visit before the page's oldest is what that one is held against.
    assert [len(item["changes"]) for item in first] == [1, 1]
    assert "Older" in browser.get("/vehicles/217/settings").text
    second = browser.get(f"{API}/settings", params={"page": 2}).json()
    assert [item["visit"] for item in second] == visits[:1]


def test_holds_are_placed_and_released_over_http(browser: Browser) -> None:
    span = {"start": "2026-11-25T08:00:00+01:00", "end": "2026-11-25T09:00:00+01:00"}
    made = browser.post(f"{API}/holds", json={**span, "reason": "claim", "by": "office"})
    assert made.status_code == 201
    hold = made.json()
    assert (hold["vehicle"], hold["active"], hold["reason"]) == ("217", True, "claim")
    assert hold["start"] == "2026-11-25T07:00:00Z"
    assert browser.get(f"{API}/holds/{hold['id']}").json() == hold
    assert browser.get("/api/v1/holds").json() == [hold]
    assert browser.get("/api/v1/vehicles/41/holds").json() == []
    path = f"{API}/holds/{hold['id']}/release"
    # Another vehicle's address releases nothing of this one.
    other = browser.post(path.replace("/217/", "/41/"), json={"reason": "copied", "by": "bo"})
    assert other.status_code == 404
    gone = browser.post(path, json={"reason": "copied", "by": "bo"}).json()
    assert (gone["active"], gone["released_by"], gone["release_reason"]) == (False, "bo", "copied")
    assert browser.post(path, json={"reason": "copied", "by": "bo"}).status_code == 422
    assert browser.get("/api/v1/holds").json() == []
    assert browser.get("/api/v1/holds", params={"state": "released"}).json() == [gone]


@pytest.mark.parametrize(
    ("wrong", "status"),
    [
        ({"end": "2026-11-25T07:00:00+01:00"}, 422),
        ({"start": "2026-11-25T08:00:00"}, 422),  # no zone
        ({"start": "0001-01-01T00:00:00+14:00"}, 422),
        ({"end": "9999-12-31T23:59:59-14:00"}, 422),
        ({"reason": " "}, 422),
        ({"by": ""}, 422),
    ],
)
def test_a_hold_that_cannot_be_is_refused(
    browser: Browser, wrong: dict[str, str], status: int
) -> None:
    body = {
        "start": "2026-11-25T08:00:00Z",
        "end": "2026-11-25T09:00:00Z",
        "reason": "r",
        "by": "b",
    }
    answer = browser.post(f"{API}/holds", json=body | wrong)
    assert answer.status_code == status
    assert answer.headers["content-type"] == "application/problem+json"
    assert browser.get("/api/v1/holds").json() == []
