"""Passwords on photographs are painted over from a page; what could not be placed is said."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from tests.visit_kit import MAP, VALUES, reading
from tests.web.kit import Browser, send, services, token

from asfound.jobs.visit_journal import load_visit
from asfound.jobs.visit_record import RecordReading, record_as_found
from asfound.model.reading import SecretSpot
from asfound.ports.backends.pictures_pillow import PillowPictures

SIDE = 200
SPOT = SecretSpot("general.code", ((20, 20), (120, 20), (120, 60), (20, 60)))
NOWHERE = SecretSpot("general.code", None)


@pytest.fixture
def browser(tmp_path: Path) -> Browser:
    return Browser(services(tmp_path))


def visit_with(browser: Browser, spot: SecretSpot) -> str:
    """A visit with two photographs, of which the first shows a code."""
    opened = {"procedure": "inspection", "by": "Ines", "firmware": "1.0"}
    visit = send(browser, "/vehicles/217/open", opened).rpartition("/")[2]
    desk = browser.server.services.desk
    for step in ("locate", "power", "monitor"):
        fields = {"head": head(browser, visit), "step": step}
        send(browser, f"/visits/{visit}/done", fields)
    white = np.full((SIDE, SIDE, 3), 255, np.uint8)
    picture = desk.blobs.put(PillowPictures().encode_jpeg(white))
    made = reading(VALUES, desk)
    first = replace(made.photos[0], sha256=picture, secrets=(spot,))
    made = replace(made, photos=(first, *made.photos[1:]))
    record_as_found(RecordReading(visit, MAP, made, "Ines"), desk=desk)
    return visit


def head(browser: Browser, visit: str) -> str:
    return browser.server.services.desk.store.heads([visit])[visit][1]


def hide(browser: Browser, visit: str, **more: str) -> None:
    send(browser, f"/visits/{visit}/secrets/hide", {"head": head(browser, visit), **more})
    (task,) = [item for item in browser.server.tasks.of(visit) if item.kind == "hide"][-1:]
    assert browser.server.tasks.wait(task.id, 30).state == "done"


def test_passwords_are_painted_over_and_originals_deleted(browser: Browser) -> None:
    visit = visit_with(browser, SPOT)
    desk = browser.server.services.desk
    original = load_visit(visit, store=desk.store, blobs=desk.blobs).secret_pictures[0].sha256
    card = browser.get(f"/visits/{visit}").text
    assert f"/visits/{visit}/secrets" in card, "the shut gate leads to where it is opened"
    assert "1 photograph may show a password" in browser.get(f"/visits/{visit}/secrets").text
    hide(browser, visit)
    page = browser.get(f"/visits/{visit}/secrets").text
    assert "No stored photograph shows a password" in page
    assert "1 photograph was painted over" in page
    assert not desk.blobs.has(original)
    (copy,) = load_visit(visit, store=desk.store, blobs=desk.blobs).hidden
    pixels = PillowPictures().decode(desk.blobs.get(copy.new), "copy").pixels
    assert pixels[40, 70].max() < 200, "grey lies where the code stood"
    assert pixels[150, 150].min() > 240, "the rest is as it was"


def test_what_cannot_be_placed_stays_until_somebody_says_whole(browser: Browser) -> None:
    visit = visit_with(browser, NOWHERE)
    hide(browser, visit)
    page = browser.get(f"/visits/{visit}/secrets").text
    assert "but where could not be told" in page and 'name="whole"' in page
    hide(browser, visit, whole="1")
    assert "No stored photograph shows" in browser.get(f"/visits/{visit}/secrets").text


def test_who_saw_an_older_state_changes_nothing(browser: Browser) -> None:
    visit = visit_with(browser, SPOT)
    fields = {"csrf": token(browser), "head": "0" * 64}
    assert browser.post(f"/visits/{visit}/secrets/hide", data=fields).status_code == 409
    assert browser.post(f"/visits/{visit}/secrets/hide", data={"csrf": token(browser)}).is_error
    stop = {"csrf": token(browser), "task": "none"}
    assert browser.post(f"/visits/{visit}/secrets/stop", data=stop).status_code == 404
    assert "1 photograph may show" in browser.get(f"/visits/{visit}/secrets").text


def test_a_visit_without_photographs_has_nothing_to_hide(browser: Browser) -> None:
    opened = {"procedure": "inspection", "by": "Ines", "firmware": "1.0"}
    visit = send(browser, "/vehicles/217/open", opened).rpartition("/")[2]
    assert "No stored photograph shows" in browser.get(f"/visits/{visit}/secrets").text


def test_a_program_has_them_painted_over(browser: Browser) -> None:
    visit = visit_with(browser, NOWHERE)
    path = f"/api/v1/visits/{visit}/secrets"
    browser.headers["X-CSRF-Token"] = browser.get("/api/v1/session").json()["csrf_token"]
    told = browser.get(path).json()
    assert [item["page"] for item in told["shown"]] == ["General"] and told["shown"][0]["why"]
    wanted = {"head": told["head"], "by": "Bo", "whole": True}
    answer = browser.post(path, json=wanted)
    assert answer.status_code == 202
    assert browser.server.tasks.wait(answer.json()["id"], 30).state == "done"
    after = browser.get(path).json()
    assert (after["shown"], after["waiting"], after["hidden"]) == ([], 0, 1)
    assert browser.post(path, json=wanted).status_code == 409, "the head moved"
