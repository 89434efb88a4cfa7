"""Doubts by pages and by programs: answers, checks, undo, two people at once, no secret shown."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from tests.journeys.test_settle import DOUBTS, with_pictures
from tests.visit_kit import MAP, VALUES, opened, reading
from tests.web.kit import Browser, send, services, token

from asfound.jobs.visit_act import AddNote, Settle, TickStep, note, settle, tick
from asfound.jobs.visit_journal import Desk, load_visit
from asfound.jobs.visit_record import RecordReading, record_as_found
from asfound.model.visit import VisitState
from asfound.web.pages import doubts
from asfound.web.settling import DoubtsView, doubts_view

API = "/api/v1"


@pytest.fixture
def browser(tmp_path: Path) -> Browser:
    made = Browser(services(tmp_path))
    made.headers["X-CSRF-Token"] = made.get(f"{API}/session").json()["csrf_token"]
    return made


@pytest.fixture
def desk(browser: Browser) -> Desk:
    return browser.server.services.desk


@pytest.fixture
def visit(browser: Browser, desk: Desk) -> str:
    name = opened(desk).id
    for step in ("locate", "power", "monitor"):
        tick(TickStep(name, step, "ada"), desk=desk)
    known = {key: value for key, value in VALUES.items() if key not in DOUBTS}
    made = with_pictures(reading(known, desk, doubts=DOUBTS), desk)
    record_as_found(RecordReading(name, MAP, made, "ada"), desk=desk)
    send(browser, f"/visits/{name}/doubts/name", {"by": "bo"})
    return name


def state_of(visit: str, desk: Desk) -> VisitState:
    return load_visit(visit, store=desk.store, blobs=desk.blobs)


def settled(visit: str, desk: Desk) -> dict[str, str]:
    return {item.id: item.value for item in state_of(visit, desk).settled}


def fields(browser: Browser, address: str) -> dict[str, str]:
    """The hidden fields of the question that a page asks."""
    page = browser.get(address)
    assert page.status_code == 200, page.text
    found = re.findall(r'name="(csrf|head|field|moment|past)" value="([^"]*)"', page.text)
    return dict(reversed(found))


def answer(browser: Browser, address: str, **act: str) -> str:
    asked = fields(browser, address)
    reply = browser.post(address.partition("?")[0], data=asked | act)
    assert reply.status_code == 303, reply.text
    return str(reply.headers["location"])


def test_one_doubt_after_the_other(browser: Browser, visit: str, desk: Desk) -> None:
    at = f"/visits/{visit}/doubts"
    page = browser.get(at).text
    assert "1 of 3" in page and "Name" in page and "blurred" in page
    at = answer(browser, at, value="BA")
    assert settled(visit, desk) == {"general.name": "BA"}
    assert "2 of 3" in browser.get(at).text
    at = answer(browser, at, act="skip")
    page = browser.get(at).text
    assert "3 of 3" in page and ">Size<" in page
    at = answer(browser, at, value="HD")
    assert "1 doubt was skipped" in browser.get(at).text
    answer(browser, f"/visits/{visit}/doubts", value="set")
    page = browser.get(f"/visits/{visit}/doubts").text
    assert "Nothing is in doubt" in page
    # The second camera's page has one row in this firmware, and was read: nothing is missing.
    send(browser, f"/visits/{visit}/doubts", {"act": "finish", "head": state_of(visit, desk).head})
    assert state_of(visit, desk).is_done("settle")


def test_undo_is_exact(browser: Browser, visit: str, desk: Desk) -> None:
    at = f"/visits/{visit}/doubts"
    after = answer(browser, at, value="BA")
    skipped = answer(browser, after, act="skip")
    page = browser.get(skipped).text
    undo = re.search(r'name="field" value="([^"]*)"[^{}]*?value="undo"', page)
    assert undo
    back = answer(browser, skipped, act="undo", field="general.code")
    assert settled(visit, desk) == {"general.name": "BA"}, "a skip is undone without an entry"
    back = answer(browser, back, act="undo", field="general.name")
    assert settled(visit, desk) == {}
    assert "1 of 3" in browser.get(back).text
    assert [item.kind for item in desk.store.entries(visit)][-2:] == ["settled", "taken-back"]


def test_what_is_typed_is_checked_as_on_the_command_line(
    browser: Browser, visit: str, desk: Desk
) -> None:
    at = f"/visits/{visit}/doubts"
    asked = fields(browser, at)
    for text, why in (("C", "C"), ("", "nothing was typed"), ("ABABABABABAB", "8")):
        reply = browser.post(at, data=asked | {"act": "type", "text": text})
        assert reply.status_code == 422
        assert 'role="alert"' in reply.text and why in reply.text
        if text:
            assert f'value="{text}"' in reply.text, "what was typed stays"
    at = answer(browser, at, act="type", text="  BA ")
    assert settled(visit, desk) == {"general.name": "BA"}


def test_a_secret_is_never_shown_nor_repeated(browser: Browser, visit: str, desk: Desk) -> None:
    at = answer(browser, f"/visits/{visit}/doubts", act="skip")
    page = browser.get(at).text
    assert ">Code<" in page and "is not shown" in page
    assert "<img" not in page and 'name="text"' not in page
    reply = browser.post(
        f"/visits/{visit}/doubts", data=fields(browser, at) | {"act": "type", "text": "hunter2"}
    )
    assert reply.status_code == 422 and "hunter2" not in reply.text
    assert "hunter2" not in "".join(str(entry.data) for entry in desk.store.entries(visit))
    photo = state_of(visit, desk).as_found
    assert photo is not None
    name = photo.photos[0].sha256
    assert browser.get(f"/visits/{visit}/pictures/{name}/general.code").status_code == 404
    crop = browser.get(f"/visits/{visit}/pictures/{name}/general.name")
    assert crop.headers["content-type"] == "image/jpeg"
    assert crop.headers["cache-control"] == "no-store"
    assert browser.get(f"/visits/{visit}/pictures/{'0' * 64}").status_code == 404


def test_of_two_who_settle_at_once_the_later_one_is_told(
    browser: Browser, visit: str, desk: Desk
) -> None:
    at = f"/visits/{visit}/doubts"
    asked = fields(browser, at)
    settle(Settle(visit, MAP, "general.name", "AB", "ada", tick=False), desk=desk)
    reply = browser.post(at, data=asked | {"value": "BA"})
    assert reply.status_code == 409
    assert "somebody else wrote" in reply.text and "settled a value" in reply.text
    assert settled(visit, desk) == {"general.name": "AB"}, "the first answer stands"
    # The same over another field: what was typed is kept and taken when it is sent again.
    asked = fields(browser, at + "?past=~general.code")
    assert asked["field"] == "camera-1.size"
    note(AddNote(visit, "ada", "seal broken"), desk=desk)
    reply = browser.post(at, data=asked | {"act": "type", "text": "HD"})
    assert reply.status_code == 409 and 'value="HD"' in reply.text
    answer(browser, at + "?past=~general.code", act="type", text="HD")
    assert settled(visit, desk)["camera-1.size"] == "HD"


def test_another_ones_answer_is_not_undone_unseen(browser: Browser, visit: str, desk: Desk) -> None:
    settle(Settle(visit, MAP, "general.name", "AB", "ada", tick=False), desk=desk)
    page = browser.get(f"/visits/{visit}/doubts").text
    assert "Undo" not in page, "ada's answer is not bo's to undo by the way"
    head = state_of(visit, desk).head
    form = {"csrf": token(browser), "act": "undo", "field": "general.name", "head": head}
    assert browser.post(f"/visits/{visit}/doubts", data=form).status_code == 422


def test_before_anything_was_read_the_page_says_so(browser: Browser, desk: Desk) -> None:
    name = opened(desk).id
    page = browser.get(f"/visits/{name}/doubts").text
    assert "Nothing can be settled now" in page and f"/visits/{name}/read" in page


def test_odd_ways_back_do_no_harm(browser: Browser, visit: str) -> None:
    for past in ("~~x", "general.name", "~nobody,~general.name,,", "<script>" * 50, "," * 7000):
        page = browser.get(f"/visits/{visit}/doubts", params={"past": past, "moment": "x"})
        assert page.status_code == 200
        assert "<script>" not in page.text.partition("<main")[2]


def test_programs_settle_too(browser: Browser, visit: str, desk: Desk) -> None:
    path = f"{API}/visits/{visit}/doubts"
    listed: dict[str, Any] = browser.get(path).json()
    assert [item["field"] for item in listed["doubts"]] == [
        "general.name", "general.code", "camera-1.size",
    ]  # fmt: skip
    assert listed["doubts"][0]["candidates"] == ["AB", "BA"]
    body = {"head": listed["head"], "by": "bo", "value": "AB"}
    after = browser.post(f"{path}/general.name", json=body)
    assert after.status_code == 200, after.text
    again = browser.post(f"{path}/general.name", json=body)
    assert again.status_code == 409 and again.json()["type"].endswith("/head-moved")
    bad = body | {"head": after.json()["head"], "value": "CC"}
    assert browser.post(f"{path}/general.name", json=bad).status_code == 422
    secret = bad | {"value": "hunter2"}
    reply = browser.post(f"{path}/general.code", json=secret)
    assert reply.status_code == 422 and "hunter2" not in reply.text
    back = browser.post(
        f"{path}/general.name/take-back", json={"head": after.json()["head"], "by": "bo"}
    )
    assert back.status_code == 200
    assert settled(visit, desk) == {}
    assert browser.post(f"{path}/nobody", json=body).status_code in (404, 409)


def test_a_closed_visit_asks_nothing(
    browser: Browser, visit: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def closed(*asked: Any) -> DoubtsView:
        view = doubts_view(*asked)
        return replace(view, state=replace(view.state, closed_at=view.state.opened_at))

    monkeypatch.setattr(doubts, "doubts_view", closed)
    page = browser.get(f"/visits/{visit}/doubts").text
    assert "takes no more entries" in page and 'name="value"' not in page


def test_what_is_locked_names_no_command(browser: Browser, desk: Desk) -> None:
    name = opened(desk).id
    page = browser.get(f"/visits/{name}/doubts").text
    assert "nothing was read yet<" in page and "asfound visit" not in page
