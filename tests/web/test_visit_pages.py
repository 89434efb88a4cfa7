"""A visit by pages alone: open, tick off, note, override; two people at once; what went wrong."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.web.kit import Browser, send, services, token

from asfound.jobs.visit_act import AddNote, note
from asfound.model.visit_line import LineQuery

OPEN_217 = {"procedure": "inspection", "by": "Ines", "firmware": "1.0"}


@pytest.fixture
def browser(tmp_path: Path) -> Browser:
    return Browser(services(tmp_path))


@pytest.fixture
def visit(browser: Browser) -> str:
    return send(browser, "/vehicles/217/open", OPEN_217).rpartition("/")[2]


def head(browser: Browser, visit: str) -> str:
    return browser.server.services.desk.store.heads([visit])[visit][1]


def test_a_visit_is_opened_and_shown_everywhere(browser: Browser, visit: str) -> None:
    assert visit.startswith("217-")
    for path in ("/", "/vehicles", "/vehicles/217", f"/visits/{visit}"):
        page = browser.get(path).text
        assert "Inspection" in page or "visit open" in page, path
    assert "Signed by" in browser.get(f"/visits/{visit}").text, "the name is asked for once"
    assert "is open already" in browser.get("/vehicles/217/open").text


def test_steps_are_ticked_off_with_a_note(browser: Browser, visit: str) -> None:
    fields = {"head": head(browser, visit), "step": "locate", "note": "behind the seat"}
    assert send(browser, f"/visits/{visit}/done", fields) == f"/visits/{visit}"
    page = browser.get(f"/visits/{visit}").text
    assert "behind the seat" in page
    (line,) = browser.server.services.desk.store.lines(LineQuery(closed=False))
    assert line.done == 1


def test_a_locked_step_stays_locked_and_what_was_typed_stays(browser: Browser, visit: str) -> None:
    fields = {"csrf": token(browser), "head": head(browser, visit), "note": "all in its place"}
    answer = browser.post(f"/visits/{visit}/close", data={**fields, "step": "close"})
    assert answer.status_code == 409
    assert "is locked" in answer.text and 'role="alert"' in answer.text
    answer = browser.post(
        f"/visits/{visit}/override",
        data={**fields, "step": "close", "gate": "as-left-compared", "reason": " "},
    )
    assert answer.status_code == 422
    assert "say why" in answer.text


def test_a_gate_is_passed_with_a_reason_but_a_hold_is_not(browser: Browser) -> None:
    path = send(browser, "/vehicles/217/open", OPEN_217 | {"procedure": "drive-swap"})
    visit = path.rpartition("/")[2]
    fields = {"step": "close", "gate": "as-left-compared", "reason": "<b>job 5582</b>"}
    send(browser, f"{path}/override", {**fields, "head": head(browser, visit)})
    page = browser.get(path).text
    assert "&lt;b&gt;job 5582&lt;/b&gt;" in page and "<b>job" not in page
    bad = {**fields, "step": "drive", "gate": "no-hold", "head": head(browser, visit)}
    answer = browser.post(f"{path}/override", data={"csrf": token(browser), **bad})
    assert answer.status_code == 422 and "never overridden" in answer.text


def test_of_two_people_the_later_one_is_told_and_loses_nothing(
    browser: Browser, visit: str
) -> None:
    seen = head(browser, visit)
    note(AddNote(visit, "bo", "the seal is broken"), desk=browser.server.services.desk)
    fields = {"csrf": token(browser), "head": seen, "step": "locate", "note": "found it"}
    answer = browser.post(f"/visits/{visit}/done", data=fields)
    assert answer.status_code == 409
    assert "somebody else wrote" in answer.text
    assert "bo" in answer.text and "wrote a note" in answer.text, "it says what is new"
    assert ">found it</textarea>" in answer.text, "what was typed stays"
    assert f'value="{head(browser, visit)}"' in answer.text, "sent again, it is taken"
    send(browser, f"/visits/{visit}/done", {**fields, "head": head(browser, visit)})


def test_a_write_without_a_head_is_refused(browser: Browser, visit: str) -> None:
    fields = {"csrf": token(browser), "step": "locate"}
    assert browser.post(f"/visits/{visit}/done", data=fields).status_code == 422


def test_unknown_things_are_a_page_of_their_own(browser: Browser) -> None:
    for path in ("/visits/nobody", "/vehicles/999", "/vehicles/~ZZ", "/nope"):
        answer = browser.get(path)
        assert answer.status_code == 404
        assert "That did not work" in answer.text and "<html" in answer.text


def test_vehicles_are_found_and_filtered(browser: Browser, visit: str) -> None:
    def found(query: str) -> str:
        return browser.get(f"/vehicles?{query}").text

    assert "QB 04 XKM" in found("q=qb04") and "QA98 LNE" not in found("q=qb04")
    assert "QA98 LNE" in found("depot=South") and "QB 04 XKM" not in found("depot=South")
    assert "QB 04 XKM" in found("open=1") and "QA98 LNE" not in found("open=1")
    assert "No vehicle fits" in found("q=zzz")
    assert "QB 04 XKM" in found("page=99"), "a page past the last is the last"


def test_a_choice_of_look_and_language_is_kept(browser: Browser) -> None:
    send(browser, "/settings", {"theme": "dark", "language": "de", "name": "Jörg"})
    page = browser.get("/settings").text
    assert 'data-theme="dark"' in page and 'lang="de"' in page and 'value="Jörg"' in page
    bad = {"csrf": token(browser), "theme": "pink", "language": "de"}
    assert browser.post("/settings", data=bad).status_code == 422


def test_a_hold_is_placed_and_released_with_a_reason(browser: Browser) -> None:
    path = "/vehicles/217/holds"
    fields = {"start": "2026-03-09T16:40", "end": "2026-03-09T17:25", "reason": "<b>claim</b>"}
    wrong = {"csrf": token(browser), **fields, "start": "yesterday", "by": "Bo"}
    answer = browser.post(f"{path}/place", data=wrong)
    assert answer.status_code == 422 and "&lt;b&gt;claim&lt;/b&gt;</textarea>" in answer.text
    assert send(browser, f"{path}/place", {**fields, "by": "Bo"}) == path
    (hold,) = browser.server.services.desk.store.holds("217")
    # Europe/London is on UTC in March until the last Sunday (IANA tz database).
    assert hold.start.isoformat() == "2026-03-09T16:40:00+00:00"
    assert "footage on hold" in browser.get("/vehicles").text
    assert "<b>claim" not in browser.get("/vehicles/217").text
    empty = {"csrf": token(browser), "hold": hold.id, "reason": " "}
    assert browser.post(f"{path}/release", data=empty).status_code == 422
    send(browser, f"{path}/release", {"hold": hold.id, "reason": "copied, receipt 0417"})
    assert "released by Bo" in browser.get(path).text
    assert "footage on hold" not in browser.get("/vehicles").text
