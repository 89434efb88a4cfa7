"""Photographs on their way: resumed, doubled, damaged, refused; a server killed in between."""

from __future__ import annotations

import hashlib
import io
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from starlette.testclient import TestClient
from tests.web.kit import PHONE, Browser, services

from asfound.jobs.take_upload import CLIP_BYTES, PHOTO_BYTES, STALE
from asfound.jobs.visit_act import TickStep, tick
from asfound.web import reading

API = "/api/v1"
TUS = "application/offset+octet-stream"


def picture(shade: int = 90, side: int = 64) -> bytes:
    out = io.BytesIO()
    Image.effect_noise((side, side), shade).convert("RGB").save(out, "JPEG", quality=95)
    return out.getvalue()


@pytest.fixture(autouse=True)
def nobody_reads(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[str]]:
    """Reading is another test's: here it is enough that it is begun."""
    begun: list[str] = []
    monkeypatch.setattr(reading.Reader, "kick", lambda self, visit: begun.append(visit))
    yield begun


def with_token(browser: TestClient) -> TestClient:
    browser.headers["X-CSRF-Token"] = browser.get(f"{API}/session").json()["csrf_token"]
    return browser


@pytest.fixture
def browser(tmp_path: Path) -> Browser:
    made = Browser(services(tmp_path))
    with_token(made)
    return made


@pytest.fixture
def visit(browser: Browser) -> str:
    wanted = {"vehicle": "217", "procedure": "firmware-and-reset", "by": "ada"}
    made = str(browser.post(f"{API}/visits", json=wanted).json()["id"])
    for step in ("locate", "power", "monitor"):
        tick(TickStep(made, step, "ada"), desk=browser.server.services.desk)
    return made


def card(data: bytes, **more: Any) -> dict[str, Any]:
    told = {"name": "IMG_1.jpg", "size": len(data), "by": "ada"}
    return told | {"sha256": hashlib.sha256(data).hexdigest()} | more


def begin(browser: TestClient, visit: str, data: bytes, **more: Any) -> str:
    answer = browser.post(f"{API}/visits/{visit}/uploads", json=card(data, **more))
    assert answer.status_code in (200, 201), answer.text
    return str(answer.headers["location"])


def piece(browser: TestClient, path: str, offset: int, data: bytes) -> Any:
    return browser.patch(
        path, content=data, headers={"Upload-Offset": str(offset), "Content-Type": TUS}
    )


def test_a_photograph_in_pieces_becomes_a_blob(
    browser: Browser, visit: str, nobody_reads: list[str]
) -> None:
    data = picture()
    path = begin(browser, visit, data)
    assert piece(browser, path, 0, data[:100]).status_code == 204
    # tus 1.0.0, core protocol: HEAD answers Upload-Offset and Upload-Length, and is not kept.
    head = browser.head(path)
    assert (head.headers["upload-offset"], head.headers["upload-length"]) == ("100", str(len(data)))
    assert head.headers["cache-control"] == "no-store"
    assert head.headers["tus-resumable"] == "1.0.0"
    answer = piece(browser, path, 100, data[100:])
    assert answer.headers["upload-offset"] == str(len(data))
    name = hashlib.sha256(data).hexdigest()
    assert browser.server.services.desk.blobs.get(name) == data
    assert browser.get(path).json()["state"] == "waiting"
    assert nobody_reads[-1] == visit, "the last byte begins the reading"


def test_the_same_photograph_is_the_same_upload(browser: Browser, visit: str) -> None:
    data = picture()
    path = begin(browser, visit, data)
    piece(browser, path, 0, data[:50])
    again = browser.post(f"{API}/visits/{visit}/uploads", json=card(data, name="other.jpg"))
    assert again.status_code == 200
    assert again.headers["location"] == path
    assert again.json()["offset"] == 50
    piece(browser, path, 50, data[50:])
    assert browser.post(f"{API}/visits/{visit}/uploads", json=card(data)).json()["offset"] == len(
        data
    )
    assert len(browser.get(f"{API}/visits/{visit}/uploads").json()) == 1


def test_a_wrong_offset_adds_nothing_and_says_the_right_one(browser: Browser, visit: str) -> None:
    data = picture()
    path = begin(browser, visit, data)
    piece(browser, path, 0, data[:100])
    for offset in (0, 99, 101):
        answer = piece(browser, path, offset, data[:10])
        assert answer.status_code == 409
        assert answer.json()["type"].endswith("/wrong-offset")
        assert answer.json()["offset"] == 100
        assert browser.get(answer.json()["type"]).status_code == 200
    assert browser.head(path).headers["upload-offset"] == "100"


def test_a_killed_server_goes_on_where_it_stood(
    browser: Browser, visit: str, tmp_path: Path
) -> None:
    data = picture()
    path = begin(browser, visit, data)
    piece(browser, path, 0, data[:100])
    # Another program over the same folder; the browser keeps its session.
    after = Browser(services(tmp_path))
    after.cookies = browser.cookies
    after.headers["X-CSRF-Token"] = browser.headers["X-CSRF-Token"]
    offset = int(after.head(path).headers["upload-offset"])
    assert offset == 100
    assert piece(after, path, offset, data[offset:]).status_code == 204
    assert after.server.services.desk.blobs.has(hashlib.sha256(data).hexdigest())


@pytest.mark.parametrize("size", [CLIP_BYTES + 1, 0, -1])
def test_a_size_that_cannot_be_is_refused(browser: Browser, visit: str, size: int) -> None:
    answer = browser.post(f"{API}/visits/{visit}/uploads", json=card(b"x", size=size))
    assert answer.status_code == 422


def test_a_photograph_that_is_too_large_is_refused_by_its_first_bytes(
    browser: Browser, visit: str
) -> None:
    data = picture()
    path = begin(browser, visit, data, size=PHOTO_BYTES + 1)
    answer = piece(browser, path, 0, data)
    assert answer.status_code == 422
    assert "100 MB" in answer.json()["detail"]
    assert browser.head(path).headers["upload-offset"] == "0"


def test_more_than_was_announced_is_refused(browser: Browser, visit: str) -> None:
    data = picture()
    path = begin(browser, visit, data)
    assert piece(browser, path, 0, data + b"x").status_code == 422
    assert browser.head(path).headers["upload-offset"] == "0"


@pytest.mark.parametrize("data", [b"<html><script>alert(1)</script>", b"MZ" + b"\0" * 60, b"x"])
def test_what_is_no_picture_is_told_by_its_content(
    browser: Browser, visit: str, data: bytes
) -> None:
    path = begin(browser, visit, data, name="IMG.jpg")
    answer = piece(browser, path, 0, data)
    assert answer.status_code == 422
    assert "neither a photograph nor a clip" in answer.json()["detail"]
    assert not browser.server.services.desk.blobs.has(hashlib.sha256(data).hexdigest())


def test_what_arrives_damaged_begins_anew(browser: Browser, visit: str) -> None:
    data = picture()
    path = begin(browser, visit, data)
    bad = data[:-1] + bytes([data[-1] ^ 1])
    answer = piece(browser, path, 0, bad)
    assert answer.status_code == 422 and "damaged" in answer.json()["detail"]
    assert piece(browser, path, 0, data).status_code == 204


def test_names_are_shown_and_never_used(browser: Browser, visit: str, tmp_path: Path) -> None:
    data = picture()
    for name in ("../../etc/passwd", "..\\..\\boot.ini", "C:\\a\nb‮.jpg", ""):
        path = begin(browser, visit, data, name=name)
    piece(browser, path, 0, data)
    (shown,) = browser.get(f"{API}/visits/{visit}/uploads").json()
    assert shown["name"] == "passwd"
    files = {item.name for item in tmp_path.rglob("*")}
    assert not any("passwd" in name or "etc" in name for name in files)
    for odd in ("%2e%2e", "%2e%2e%2f%2e%2e", "a" * 400, "x%00y"):
        assert browser.get(f"{API}/visits/{visit}/uploads/{odd}").status_code in (200, 404)


def test_a_visit_that_is_not_there_takes_nothing(browser: Browser) -> None:
    assert browser.get(f"{API}/visits/nobody/uploads").status_code == 404
    answer = browser.post(f"{API}/visits/nobody/uploads", json=card(b"x"))
    assert answer.status_code == 404
    assert piece(browser, f"{API}/visits/nobody/uploads/u", 0, b"x").status_code == 404


def test_an_unpaired_device_brings_nothing(tmp_path: Path) -> None:
    laptop = Browser(services(tmp_path), lan=True)
    phone = laptop.from_seat(PHONE)
    assert phone.post(f"{API}/visits/v/uploads", json=card(b"x")).status_code == 401
    assert phone.patch(f"{API}/visits/v/uploads/u", content=b"x").status_code == 401
    assert phone.get("/visits/v/read").status_code in (303, 401)


def test_a_locked_step_takes_no_photographs(browser: Browser, visit: str) -> None:
    answer = browser.post(f"{API}/visits/{visit}/uploads", json=card(picture(), as_left=True))
    assert answer.status_code == 409
    assert answer.json()["type"].endswith("/gate-shut")


def test_what_broke_off_is_forgotten_after_a_while(browser: Browser, visit: str) -> None:
    data = picture()
    path = begin(browser, visit, data)
    piece(browser, path, 0, data[:100])
    clock: Any = browser.server.services.desk.clock
    clock.at += STALE + timedelta(days=1)
    begin(browser, visit, picture(40))
    assert browser.head(path).status_code == 404
    assert len(browser.get(f"{API}/visits/{visit}/uploads").json()) == 1
