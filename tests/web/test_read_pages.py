"""Photographs by pages: a plain form, reading behind the page, what is shown, what is refused."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from tests.journeys.test_settle import with_pictures
from tests.visit_kit import MAP, VALUES, reading
from tests.web.kit import Browser, NoTools, send, services, token
from tests.web.test_uploads import picture

from asfound.errors import GateShut
from asfound.jobs import read_uploads
from asfound.jobs.visit_act import TickStep, tick
from asfound.jobs.visit_journal import load_visit
from asfound.jobs.visit_read import VisitRead
from asfound.jobs.visit_record import RecordReading, record_as_found
from asfound.model.retake import Cause
from asfound.model.visit import VisitState
from asfound.web.app import create_app
from asfound.web.security import host_names
from asfound.web.services import Settings
from asfound.web.texts import load_texts
from asfound.web.wording_photos import CAUSES, HINTS

API = "/api/v1"
WAIT_S = 20.0


@pytest.fixture(autouse=True)
def fake_reader(monkeypatch: pytest.MonkeyPatch) -> list[VisitRead]:
    """A reader that finds the small recorder's first page on whatever it is shown."""
    asked: list[VisitRead] = []

    def read(request: VisitRead, *, desk: Any, tools: Any, progress: Any) -> VisitState:
        asked.append(request)
        if any("bad" in name for name in request.names.values()):
            raise GateShut("the recorder shows another firmware; check the version page")
        names = [path.name for path in request.photos]
        progress(len(names), len(names), names[-1])
        values = {key: value for key, value in VALUES.items() if key.startswith("general")}
        made = with_pictures(reading(values, desk), desk)
        return record_as_found(RecordReading(request.visit, MAP, made, request.by), desk=desk)

    monkeypatch.setattr(read_uploads, "visit_read", read)
    monkeypatch.setattr(NoTools, "reading", lambda self: None)
    return asked


@pytest.fixture
def browser(tmp_path: Path) -> Browser:
    return Browser(services(tmp_path))


@pytest.fixture
def visit(browser: Browser) -> str:
    wanted = {"procedure": "firmware-and-reset", "by": "Ines", "firmware": "1.0"}
    made = send(browser, "/vehicles/217/open", wanted).rpartition("/")[2]
    for step in ("locate", "power", "monitor"):
        tick(TickStep(made, step, "Ines"), desk=browser.server.services.desk)
    return made


def sent(browser: Browser, visit: str, *photos: tuple[str, bytes]) -> Any:
    files = [("photos", (name, data, "image/jpeg")) for name, data in photos]
    return browser.post(f"/visits/{visit}/read", data={"csrf": token(browser)}, files=files)


def after_reading(browser: Browser, visit: str) -> None:
    for task in browser.server.tasks.of(visit):
        assert browser.server.tasks.wait(task.id, WAIT_S).state == "done", task.message


def test_the_card_of_the_step_leads_to_the_page(browser: Browser, visit: str) -> None:
    page = browser.get(f"/visits/{visit}").text
    assert f'href="/visits/{visit}/read"' in page and f'href="/visits/{visit}/doubts"' in page
    page = browser.get(f"/visits/{visit}/read").text
    assert 'capture="environment"' in page and 'accept="image/*"' in page
    assert "Still missing: 3 of 3 pages" in page and "Camera 2" in page


def test_a_plain_form_brings_photographs_and_they_are_read(
    browser: Browser, visit: str, fake_reader: list[VisitRead]
) -> None:
    one = picture(60)
    answer = sent(browser, visit, ("one.jpg", one), ("two.jpg", picture(70)))
    assert answer.status_code == 303, answer.text
    after_reading(browser, visit)
    page = browser.get(answer.headers["location"]).text
    assert "1 of 3 pages" in page and "2 sure" in page
    assert [name for item in fake_reader for name in item.names.values()] == ["one.jpg", "two.jpg"]
    assert all(item.by == "Ines" for item in fake_reader)
    # Sent again, nothing is doubled and nothing is read anew.
    before = len(browser.server.services.desk.store.entries(visit))
    sent(browser, visit, ("one.jpg", one))
    after_reading(browser, visit)
    assert len(browser.server.services.desk.store.entries(visit)) == before


def test_a_form_with_something_else_keeps_the_good_ones(browser: Browser, visit: str) -> None:
    answer = sent(browser, visit, ("good.jpg", picture()), ("page.jpg", b"<html>no picture at all"))
    assert answer.status_code == 422
    assert "page.jpg" in answer.text and "neither a photograph nor a clip" in answer.text
    after_reading(browser, visit)
    assert "1 of 3 pages" in browser.get(f"/visits/{visit}/read").text
    assert sent(browser, visit).status_code == 422


def test_what_cannot_be_read_says_why_and_can_be_read_again(browser: Browser, visit: str) -> None:
    sent(browser, visit, ("bad.jpg", picture()))
    after_reading(browser, visit)
    page = browser.get(f"/visits/{visit}/read").text
    assert "another firmware" in page and "not read" in page and "Read them now" in page
    send(browser, f"/visits/{visit}/read/again", {"moment": "found"})
    after_reading(browser, visit)
    assert "another firmware" in browser.get(f"/visits/{visit}/read").text


def test_a_server_that_was_killed_reads_what_waits(
    browser: Browser, visit: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patch:
        patch.setattr(type(browser.server.reader), "kick", lambda self, name: None)
        sent(browser, visit, ("one.jpg", picture()))
    assert "waits to be read" in browser.get(f"/visits/{visit}/read").text
    after = Browser(services(tmp_path))
    with after:
        tasks = after.server.tasks.of(visit)
        assert tasks, "the work begins when the server does"
        assert after.server.tasks.wait(tasks[0].id, WAIT_S).state == "done"
    state = load_visit(
        visit, store=after.server.services.desk.store, blobs=after.server.services.desk.blobs
    )
    assert state.as_found is not None


def test_the_photograph_with_its_values(browser: Browser, visit: str) -> None:
    sent(browser, visit, ("one.jpg", picture()))
    after_reading(browser, visit)
    told = browser.get(f"{API}/visits/{visit}/reading").json()
    (photo,) = told["photos"]
    assert (photo["state"], photo["page"], photo["sure"]) == ("read", "General", 2)
    assert told["missing"] == ["camera-1", "camera-2"]
    page = browser.get(f"/visits/{visit}/photos/{photo['sha256']}").text
    assert 'class="box sure"' in page and ">Name<" in page
    shown = browser.get(f"/visits/{visit}/pictures/{photo['sha256']}")
    assert shown.headers["content-type"] == "image/jpeg"
    assert shown.headers["cache-control"] == "no-store"
    for odd in ("0" * 64, "%2e%2e%2fasfound.db"):
        assert browser.get(f"/visits/{visit}/pictures/{odd}").status_code == 404


def test_a_locked_moment_says_why(browser: Browser, visit: str) -> None:
    page = browser.get(f"/visits/{visit}/read?moment=left").text
    assert "No photographs can be taken up now" in page and "is locked" in page
    form = {"csrf": token(browser), "moment": "left"}
    files = [("photos", ("a.jpg", picture(), "image/jpeg"))]
    answer = browser.post(f"/visits/{visit}/read", data=form, files=files)
    assert answer.status_code == 422 and "is locked" in answer.text


def test_every_cause_has_its_words_and_hints_their_translation() -> None:
    assert set(CAUSES) == {cause.value for cause in Cause}
    german = load_texts()["de"]
    for text in (*CAUSES, *HINTS):
        assert german.gettext(text) != text, text


def test_other_addresses_take_no_files(browser: Browser, visit: str) -> None:
    files = [("photos", ("a.jpg", picture(), "image/jpeg"))]
    answer = browser.post(f"/visits/{visit}/note", data={"csrf": token(browser)}, files=files)
    assert answer.status_code == 400


def test_the_application_comes_up_without_anything_waiting(tmp_path: Path) -> None:
    app = create_app(services(tmp_path), Settings(host_names(["localhost"], 8417)))
    assert app.state.server.reader.services.uploads.waiting() == []
