"""Sticks on pages: prepared from the catalogue alone, by the laptop alone, and checked after.

That what is not on the way stays off the stick is tried over HTTP in every way a form allows.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from starlette.testclient import TestClient
from tests.web.kit import LAPTOP, PHONE, Browser, send, token
from tests.web.stick_kit import BLUE, MemorySticks, firmware_home, with_sticks

from asfound.cli.serve_sticks import HomeSticks
from asfound.errors import NotFound
from asfound.ports.folders import folder_key
from asfound.web.sticking import last_task

PATH = "SERVICE/LOAD/m4-2-1.mfw"
GOOD = {"image": "m4-2-1.mfw", "sure": "1", "by": "Ines Okafor"}
WAIT_S = 60.0


@pytest.fixture
def made(tmp_path: Path) -> tuple[Browser, MemorySticks]:
    services, sticks = with_sticks(firmware_home(tmp_path))
    return Browser(services), sticks


def ended(browser: Browser) -> str:
    """How the last work on the stick ended."""
    task = last_task(BLUE, browser.server.tasks)
    assert task is not None
    done = browser.server.tasks.wait(task.id, WAIT_S)
    return f"{done.state} {done.message}"


def test_prepared_then_checked_after_the_visit(made: tuple[Browser, MemorySticks]) -> None:
    browser, sticks = made
    sticks.blue.things["holiday.jpg"] = b"beach"
    asked = browser.get(f"/stick/{BLUE}?image=m4-2-1.mfw&vehicle=217").text
    assert (
        PATH in asked and "asfound-stick/slip.json" in asked and "a step for vehicle 217" in asked
    )
    assert send(browser, f"/stick/{BLUE}/prepare", GOOD) == f"/stick/{BLUE}"
    assert ended(browser) == "done prepared"
    page = browser.get(f"/stick/{BLUE}").text
    assert (
        "Prepared: exactly this image" in page and "Ines Okafor" in page and "holiday.jpg" in page
    )
    assert sticks.blue.things["holiday.jpg"] == b"beach"
    image = (sticks.images / "m4-2-1.mfw").read_bytes()
    assert sticks.blue.things[PATH] == image

    sticks.blue.things["LOG"] = b"done"
    send(browser, f"/stick/{BLUE}/check")
    assert ended(browser) == "done unchanged"
    page = browser.get(f"/stick/{BLUE}").text
    assert "Unchanged" in page and "Came since it was prepared" in page and "LOG" in page
    assert 'Marrowby Four <span class="figure">2.01</span>' in page

    sticks.blue.things[PATH] = image[:-1] + b"!"
    german = {"Accept-Language": "de"}
    send(browser, f"/stick/{BLUE}/check")
    assert ended(browser) == "done changed"
    page = browser.get(f"/stick/{BLUE}", headers=german).text
    assert "Das Abbild hat jetzt anderen Inhalt" in page and "keins, das der Katalog kennt" in page
    found = browser.get(f"/api/v1/sticks/{BLUE}").json()
    assert found["checked"]["verdict"] == "changed"
    assert found["checked"]["format"] == "asfound-stick/1"


def test_another_image_in_the_way_stays_and_nothing_is_written(
    made: tuple[Browser, MemorySticks],
) -> None:
    browser, sticks = made
    sticks.blue.things |= {"SERVICE": None, "SERVICE/LOAD": None, "SERVICE/LOAD/m4-old.mfw": b"old"}
    before = dict(sticks.blue.things)
    send(browser, f"/stick/{BLUE}/prepare", GOOD)
    assert ended(browser) == "done blocked"
    page = browser.get(f"/stick/{BLUE}").text
    assert "nothing was written" in page and "m4-old.mfw" in page and "--remove" not in page
    assert sticks.blue.things == before


@pytest.mark.parametrize(
    ("fields", "status", "said"),
    [
        ({"image": "m4-2-2.mfw"}, 422, "was withdrawn on 2026-02-20"),
        ({"image": "m4-2-10.mfw"}, 422, "is not approved for"),
        ({"image": "../fleet.toml"}, 404, "has no image"),
        ({"image": ""}, 404, "has no image"),
        ({"sure": ""}, 422, "tick that you have read"),
        ({"by": ""}, 422, "name"),
    ],
)
def test_what_is_refused(
    made: tuple[Browser, MemorySticks], fields: dict[str, str], status: int, said: str
) -> None:
    browser, sticks = made
    data = {"csrf": token(browser), **GOOD, **fields}
    answer = browser.post(f"/stick/{BLUE}/prepare", data=data)
    assert answer.status_code == status and said in answer.text
    assert browser.post(f"/stick/{BLUE}/prepare", data=GOOD).status_code == 403, "no token"
    assert sticks.blue.changes == 0 and sticks.blue.things == {}


def test_a_changed_image_file_goes_on_no_stick(made: tuple[Browser, MemorySticks]) -> None:
    browser, sticks = made
    (sticks.images / "m4-2-1.mfw").write_bytes(b"something else")
    send(browser, f"/stick/{BLUE}/prepare", GOOD)
    assert "its SHA-256 is" in ended(browser) and sticks.blue.things == {}
    assert "Not done." in browser.get(f"/stick/{BLUE}").text


def test_the_interface_and_keys_that_nobody_named(made: tuple[Browser, MemorySticks]) -> None:
    browser, sticks = made
    headers = {"X-CSRF-Token": browser.get("/api/v1/session").json()["csrf_token"]}
    (place,) = browser.get("/api/v1/sticks").json()
    assert place == {"key": BLUE, "name": "Blue", "there": True, "subject": f"stick-{BLUE}"}
    wanted = {"image": "m4-2-1.mfw", "by": "ada"}
    answer = browser.post(f"/api/v1/sticks/{BLUE}/prepare", json=wanted, headers=headers)
    assert answer.status_code == 202, answer.text
    assert ended(browser) == "done prepared"
    answer = browser.post(f"/api/v1/sticks/{BLUE}/check", json={"sha256": "ab"}, headers=headers)
    assert answer.status_code == 422
    answer = browser.post(f"/api/v1/sticks/{BLUE}/check", json={}, headers=headers)
    assert answer.status_code == 202 and ended(browser) == "done unchanged"
    for key in ("0" * 16, "%2E%2E%2Fetc", "%2Fetc"):
        assert browser.get(f"/stick/{key}").status_code == 404
        assert browser.get(f"/api/v1/sticks/{key}").status_code == 404
    assert sticks.blue.things[PATH]


def test_a_phone_sees_and_does_nothing(tmp_path: Path) -> None:
    services, sticks = with_sticks(firmware_home(tmp_path))
    laptop = Browser(services, LAPTOP, lan=True)
    phone: TestClient = laptop.from_seat(PHONE)
    send(phone, "/pair", {"code": laptop.server.pairing.new_code().text, "name": "phone"})
    page = phone.get(f"/stick/{BLUE}").text
    assert "on the laptop" in page and "/prepare" not in page and "/check" not in page
    for act in ("check", "prepare"):
        data = {"csrf": token(phone), **GOOD}
        assert phone.post(f"/stick/{BLUE}/{act}", data=data).status_code == 403
    assert sticks.blue.changes == 0


def test_places_of_a_home_and_its_images(tmp_path: Path) -> None:
    home = firmware_home(tmp_path)
    (tmp_path / "empty").mkdir()
    sticks = HomeSticks({"Blue": tmp_path / "empty"}, home.path / "firmware")
    (place,) = sticks.places()
    assert (place.key, place.there) == (folder_key("Blue", ""), False), "a folder is no stick"
    assert sticks.has_image("m4-2-1.mfw")
    for name in ("", ".", "..", "../fleet.toml", "nothing.mfw"):
        assert not sticks.has_image(name)
        with pytest.raises(NotFound):
            sticks.image(place.key, name)
    assert sticks.image(place.key, "m4-2-1.mfw").size() == 704 * 1024
    with pytest.raises(NotFound):
        sticks.stick("0" * 16)


def test_a_menu_map_that_says_no_place(tmp_path: Path) -> None:
    home = firmware_home(tmp_path)
    services, _ = with_sticks(home)
    bare = replace(home.menu_map("marrowby-four"), firmware_file=None)

    class Bare(type(services.shelf)):  # type: ignore[misc] # the shelf at hand, but for one map
        def menu_map(self, map_id: str) -> object:
            return bare if map_id == bare.id else super().menu_map(map_id)

    browser = Browser(replace(services, shelf=Bare(home)))
    page = browser.get(f"/stick/{BLUE}?image=m4-2-1.mfw").text
    assert "does not say where the recorder looks" in page and "asfound-stick/slip.json" not in page
