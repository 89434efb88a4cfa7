"""Pages and resources of bundles: a closed visit of one laptop is packed there and taken in at
another. What bundles hold and refuse is held by tests/jobs; rules are the project's own
(docs/bundles.md)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient
from tests.bundle_kit import Laptop, closed_visit
from tests.visit_kit import SetClock
from tests.web.kit import PHONE, Browser, NoTools, send, services, token
from tests.web.test_german_pages import english
from tests.web.test_request_pages import told

from asfound.ports.backends.blobs_files import FileBlobs
from asfound.ports.backends.store_sql import SqlStore
from asfound.web.context import TOKEN_HEADER
from asfound.web.routes import PREFIX

PATIENCE_S = 60.0


@pytest.fixture
def stick(tmp_path: Path) -> Path:
    made = tmp_path / "stick"
    made.mkdir()
    return made


@pytest.fixture
def two(tmp_path: Path, stick: Path) -> Iterator[tuple[Browser, Browser]]:
    """Two laptops with one stick; the first has nothing told to believe."""
    folders = [tmp_path / "one", tmp_path / "two"]
    for folder in folders:
        folder.mkdir()
    one, other = (services(folder, bags={"Stick": stick}) for folder in folders)
    with Browser(one) as first, Browser(other) as second:
        yield first, second


def visit_of(browser: Browser) -> str:
    desk = browser.server.services.desk
    assert isinstance(desk.store, SqlStore) and isinstance(desk.blobs, FileBlobs)
    clock = desk.clock
    assert isinstance(clock, SetClock)
    return closed_visit(Laptop(desk.store, desk.blobs, clock))


def ended(browser: Browser) -> None:
    """Waits for what was begun last."""
    task = browser.get(f"{PREFIX}/bundles").json()[0]["task"]
    assert browser.server.tasks.wait(task, PATIENCE_S).state in ("done", "failed")


def key_of(page: str, name: str) -> str:
    """The key of a folder in the form that takes bundles in."""
    found = re.search(rf'value="([0-9a-f]+)"[^>]*>{name}<', page.split('id="take"')[1])
    assert found, page
    return found[1]


def place_of(page: str) -> str:
    found = re.search(r'value="([0-9a-f]+)"[^>]*>Stick<', page)
    assert found
    return found[1]


def believe(browser: Browser, key: str) -> None:
    tools = browser.server.services.tools
    assert isinstance(tools, NoTools) and isinstance(tools.held.believed, dict)
    tools.held.believed[bytes.fromhex(key)] = "Ines"


def test_a_visit_goes_from_one_laptop_to_another(two: tuple[Browser, Browser], stick: Path) -> None:
    first, second = two
    visit = visit_of(first)
    assert f"/bundles?visit={visit}" in first.get(f"/visits/{visit}").text
    page = first.get(f"/bundles?visit={visit}").text
    assert f'value="{visit}"' in page
    fields = {"visit": visit, "place": place_of(page), "name": "first"}
    assert send(first, "/bundles/export", fields) == "/bundles"
    ended(first)
    page = first.get("/bundles").text
    assert "Packed, each file read again, and signed." in page and (stick / "first").is_dir()
    signed = re.search(r'break">([0-9a-f]{64})<', page)
    assert signed
    # Nobody vouched for that key: nothing is taken in.
    folder = key_of(second.get("/bundles").text, "first")
    send(second, "/bundles/import", {"folder": folder})
    ended(second)
    assert "which nobody here said to believe" in second.get("/bundles").text
    assert second.get(f"{PREFIX}/visits/{visit}").status_code == 404
    second.headers["Accept-Language"] = "de"
    page = second.get("/bundles").text
    assert not english(page, {"Stick", "first"})
    assert "dem hier niemand zu glauben gesagt hat" in page
    second.headers["Accept-Language"] = "en"
    believe(second, signed[1])
    for says in ("Whole, and taken in:", "nothing new: all of it was here"):
        send(second, "/bundles/import", {"folder": folder})
        ended(second)
        page = told(second.get("/bundles").text)
        assert says in page and f"Ines {signed[1]}" in page
    assert second.get(f"{PREFIX}/visits/{visit}").json()["closed_by"] == "ada"
    newest = second.get(f"{PREFIX}/bundles").json()[1]
    assert (newest["state"], newest["visits"], newest["signed_by"]) == ("done", [visit], signed[1])
    second.headers["Accept-Language"] = "de"
    assert not english(second.get("/bundles").text, {"Stick", "first", "Ines"})
    # An altered bag is refused, and the entry named.
    blob = next((stick / "first" / "data" / "blobs").iterdir())
    blob.chmod(0o600)
    blob.write_bytes(b"x" * blob.stat().st_size)
    second.headers["Accept-Language"] = "en"
    send(second, "/bundles/import", {"folder": folder})
    ended(second)
    assert f"data/blobs/{blob.name}" in second.get("/bundles").text


def sign_by(browser: Browser, visit: str, name: str) -> None:
    """Signs the closed visit by name alone."""
    page = browser.get(f"/visits/{visit}/report").text
    head = re.search(r'name="head" value="([0-9a-f]+)"', page)
    assert head
    fields = {"head": head[1], "name": name, "role": "witness"}
    send(browser, f"/visits/{visit}/report/sign", fields)


def goes(from_: Browser, to: Browser, name: str, **what: str) -> str:
    """Packs a bundle ``name`` at one laptop and takes it in at the other, which believes it; the
    other's page then."""
    place = place_of(from_.get("/bundles").text)
    send(from_, "/bundles/export", {"place": place, "name": name, **what})
    ended(from_)
    signed = re.search(r'break">([0-9a-f]{64})<', from_.get("/bundles").text)
    assert signed
    believe(to, signed[1])
    send(to, "/bundles/import", {"folder": key_of(to.get("/bundles").text, name)})
    ended(to)
    return to.get("/bundles").text


def test_what_is_set_aside_can_be_read(two: tuple[Browser, Browser]) -> None:
    first, second = two
    visit = visit_of(first)
    assert "Set aside" not in goes(first, second, "there", visit=visit)
    assert second.get(f"{PREFIX}/bundles/aside").json() == []
    sign_by(first, visit, "Ines Okafor")
    sign_by(second, visit, "Jonas Reyl")
    page = told(goes(first, second, "again", visit=visit))
    assert "1 journal was continued in two places" in page
    (row,) = second.get(f"{PREFIX}/bundles/aside").json()
    assert (row["book"], row["log"]) == ("visit", visit)
    (entry,) = row["entries"]
    assert entry["kind"] == "signed" and entry["by"] in ("Ines Okafor", "Jonas Reyl")
    assert f"{entry['by']} signed the visit {entry['hash'][:16]}" in page
    second.headers["Accept-Language"] = "de"
    said = {"Stick", "there", "again", "Ines Okafor", "Jonas Reyl", visit}
    assert not english(second.get("/bundles").text, said)


def test_notes_leave_without_a_visit(two: tuple[Browser, Browser], stick: Path) -> None:
    first, second = two
    send(
        first,
        "/vehicles/217/holds/place",
        {
            "by": "Ines",
            "reason": "claim 4711",
            "start": "2026-11-20T08:00",
            "end": "2026-11-20T09:00",
        },
    )
    page = goes(first, second, "notes", what="notes", visit="is not looked at")
    assert "1 hold" in told(page) and "Notes, no visit." in first.get("/bundles").text
    assert "claim 4711" in second.get("/vehicles/217/holds").text
    first.headers["Accept-Language"] = "de"
    assert not english(first.get("/bundles").text, {"Stick", "notes"})
    first.headers["Accept-Language"] = "en"
    place = place_of(first.get("/bundles").text)
    wanted = {"csrf": token(first), "what": "visits", "visit": " ", "place": place, "name": "x"}
    answer = first.post("/bundles/export", data=wanted)
    assert answer.status_code == 422 and "name the closed visit" in answer.text
    head = {TOKEN_HEADER: token(first)}
    asked = {"notes": True, "place": place, "name": "more"}
    begun = first.post(f"{PREFIX}/bundles/export", json=asked, headers=head)
    assert begun.status_code == 202, begun.text
    ended(first)
    assert (stick / "more" / "data" / "bundle.jsonl").is_file()


def test_what_cannot_be_packed_is_refused(two: tuple[Browser, Browser], stick: Path) -> None:
    first, _ = two
    opened = send(first, "/vehicles/217/open", {"procedure": "inspection", "by": "Bo"})
    place = place_of(first.get("/bundles").text)
    for visit, says in ((opened.removeprefix("/visits/"), "is open"), ("none", "no visit")):
        send(first, "/bundles/export", {"visit": visit, "place": place, "name": "one"})
        ended(first)
        assert says in first.get("/bundles").text
    for wrong in ({"name": "../out"}, {"place": "0" * 16}, {"name": ""}):
        fields = {"csrf": token(first), "visit": "none", "place": place, "name": "two", **wrong}
        assert first.post("/bundles/export", data=fields).status_code in (404, 422)
    fields = {"csrf": token(first), "folder": "../out"}
    assert first.post("/bundles/import", data=fields).status_code == 404
    assert list(stick.iterdir()) == []


def test_only_on_this_machine_and_with_its_token(tmp_path: Path, stick: Path) -> None:
    made = services(tmp_path, bags={"Stick": stick})
    with Browser(made, lan=True) as laptop:
        assert laptop.post("/bundles/import", data={"folder": "x"}).status_code == 403
        phone: TestClient = laptop.from_seat(PHONE)
        assert phone.get("/bundles").status_code in (303, 401)
        assert "DIR=NAME" not in laptop.get("/bundles").text
    with Browser(services(tmp_path)) as bare:
        assert "asfound serve --bags DIR=NAME" in bare.get("/bundles").text
        assert "Nobody yet: every bundle is refused." in bare.get("/bundles").text
