"""Who may ask, from where, and how large."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.web.kit import LAN, LAPTOP, MARKUP, PHONE, PORT, Browser, send, services, token

PAGES = ("/", "/vehicles", "/vehicles/217", "/vehicles/217/open", "/settings")
OPEN_217 = {"procedure": "inspection", "by": "ada", "firmware": "1.0"}


@pytest.fixture
def browser(tmp_path: Path) -> Browser:
    return Browser(services(tmp_path))


@pytest.mark.parametrize("host", ["evil.example", f"evil.example:{PORT}", "localhost", ""])
def test_another_host_is_refused(browser: Browser, host: str) -> None:
    # RFC 9110, 15.5.20: 421 Misdirected Request
    answer = browser.get("/", headers={"Host": host})
    assert answer.status_code == 421
    assert "Today" not in answer.text


@pytest.mark.parametrize("origin", ["http://evil.example", "null", f"https://localhost:{PORT}"])
def test_another_origin_changes_nothing(browser: Browser, origin: str) -> None:
    fields = {"csrf": token(browser), **OPEN_217}
    answer = browser.post("/vehicles/217/open", data=fields, headers={"Origin": origin})
    assert answer.status_code == 403
    assert browser.server.services.desk.store.visits() == []


def test_a_form_without_its_token_changes_nothing(browser: Browser, tmp_path: Path) -> None:
    token(browser)
    for fields in (OPEN_217, {"csrf": "0" * 64, **OPEN_217}):
        assert browser.post("/vehicles/217/open", data=fields).status_code == 403
    other = Browser(services(tmp_path))
    stolen = {"csrf": token(other), **OPEN_217}
    assert browser.post("/vehicles/217/open", data=stolen).status_code == 403
    answer = browser.post("/api/v1/visits", json={"vehicle": "217", **OPEN_217})
    assert answer.status_code == 403
    assert browser.server.services.desk.store.visits() == []


def test_every_answer_carries_the_headers(browser: Browser) -> None:
    for path in (*PAGES, "/nope", "/api/v1/fleet"):
        headers = browser.get(path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy and "frame-ancestors 'none'" in policy
        assert "unsafe" not in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "same-origin"
        assert headers["cache-control"] == "no-store"


def test_pages_hold_no_inline_script_or_style_and_fetch_nothing(browser: Browser) -> None:
    for path in PAGES:
        page = browser.get(path)
        assert page.status_code == 200
        assert "<style" not in page.text and " style=" not in page.text
        assert " onclick" not in page.text and "javascript:" not in page.text
        assert page.text.count("<script") == page.text.count('<script type="module" src="/static/')
        for scheme in ("http://", "https://"):
            assert f'href="{scheme}' not in page.text and f'src="{scheme}' not in page.text


def test_session_cookies_are_for_the_server_alone(browser: Browser) -> None:
    line = browser.get("/").headers["set-cookie"]
    assert "HttpOnly" in line and "SameSite=Strict" in line


def test_names_with_markup_stay_text(browser: Browser) -> None:
    path = send(browser, "/vehicles/B~2F12~20~C3~84/open", OPEN_217 | {"by": MARKUP})
    for page in ("/", "/vehicles", "/vehicles/B~2F12~20~C3~84", path, "/settings"):
        text = browser.get(page).text
        assert MARKUP not in text
        assert "&lt;script&gt;" in text


def test_too_much_is_refused(browser: Browser) -> None:
    fields = {"csrf": token(browser), **OPEN_217, "by": "a" * 300_000}
    answer = browser.post("/vehicles/217/open", data=fields)
    assert answer.status_code == 413  # RFC 9110, 15.5.14


def test_a_device_that_is_not_paired_sees_nothing(tmp_path: Path) -> None:
    laptop = Browser(services(tmp_path), lan=True)
    phone = laptop.from_seat(PHONE)
    for path in (*PAGES, "/devices"):
        answer = phone.get(path, headers={"Accept": "text/html"})
        assert (answer.status_code, answer.headers["location"]) == (303, "/pair")
        assert "Brindlemere" not in answer.text
    for path in ("/api/v1/fleet", "/api/v1/openapi.json", "/api/v1/visits"):
        assert phone.get(path).status_code == 401
    assert phone.get("/pair").status_code == 200
    assert "Brindlemere" not in phone.get("/pair").text
    posted = phone.post("/vehicles/217/open", data={"csrf": token(phone), **OPEN_217})
    assert posted.status_code == 401


def test_without_lan_no_other_device_gets_anything(tmp_path: Path) -> None:
    browser = Browser(services(tmp_path))
    phone = browser.from_seat(PHONE)
    for path in ("/", "/pair"):
        answer = phone.get(path, headers={"Host": f"localhost:{PORT}"})
        assert answer.status_code in (303, 401)
    assert browser.get("/pair").status_code == 404


def test_pairing_lets_one_device_in_until_it_is_dropped(tmp_path: Path) -> None:
    laptop = Browser(services(tmp_path), lan=True)
    phone, second = laptop.from_seat(PHONE), laptop.from_seat(("192.168.7.22", 1))
    assert send(laptop, "/devices/code") == "/devices"
    code = laptop.server.pairing.code()
    assert code is not None and code.spoken in laptop.get("/devices").text
    assert send(phone, "/pair", {"code": code.spoken.lower(), "name": "Ines"}) == "/"
    assert phone.get("/").status_code == 200
    fields = {"csrf": token(second), "code": code.text}
    assert second.post("/pair", data=fields).status_code == 422, "a code is good once"
    kept = (tmp_path / "devices.json").read_text()
    cookie = phone.cookies["asfound_device"]
    assert cookie not in kept and "Ines" in kept
    # The phone may not pair others.
    assert phone.get("/devices").status_code == 403
    (device,) = laptop.server.services.devices.devices()
    send(laptop, "/devices/drop", {"device": device.id})
    assert phone.get("/api/v1/fleet").status_code == 401


def test_guessing_is_stopped(tmp_path: Path) -> None:
    laptop = Browser(services(tmp_path), lan=True)
    phone = laptop.from_seat(PHONE)
    laptop.server.pairing.new_code()
    fields = {"csrf": token(phone), "code": "2222-2222"}
    statuses = [phone.post("/pair", data=fields).status_code for _ in range(7)]
    assert statuses == [422] * 5 + [429] * 2  # RFC 6585, 4: 429 Too Many Requests
    code = laptop.server.pairing.code()
    assert code is not None
    right = {"csrf": token(phone), "code": code.text}
    assert phone.post("/pair", data=right).status_code == 429


def test_a_code_expires(tmp_path: Path) -> None:
    laptop = Browser(services(tmp_path), lan=True)
    phone = laptop.from_seat(PHONE)
    code = laptop.server.pairing.new_code()
    clock = laptop.server.services.desk.clock
    clock.at = code.until  # type: ignore[attr-defined] # the test's clock can be set
    answer = phone.post("/pair", data={"csrf": token(phone), "code": code.text})
    assert answer.status_code == 422


def test_the_picture_holds_the_code_behind_the_hash(tmp_path: Path) -> None:
    laptop = Browser(services(tmp_path), lan=True)
    assert laptop.get("/devices/code.svg").status_code == 404
    send(laptop, "/devices/code")
    picture = laptop.get("/devices/code.svg")
    assert picture.headers["content-type"] == "image/svg+xml"
    assert picture.headers["cache-control"] == "no-store"
    assert LAN in laptop.get("/devices").text
    assert LAPTOP[0] == "127.0.0.1"
