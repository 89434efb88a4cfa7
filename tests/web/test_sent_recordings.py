"""Recordings sent from a device: resumed after a break, looked at by a phone, deleted; names that
would be somewhere else on the disk; without a script."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient
from tests.proof_visit import short_drive
from tests.visit_kit import MAP, VALUES, reading
from tests.web.kit import PHONE, Browser, send, services, token

from asfound.jobs.take_recordings import sent_recordings
from asfound.jobs.visit_act import OverrideGate, TickStep, override, tick
from asfound.jobs.visit_record import RecordReading, record_as_found

API = "/api/v1"
START = datetime(2026, 11, 25, 19, 0, tzinfo=UTC)
WAIT_S = 120.0


@pytest.fixture
def browser(tmp_path: Path) -> Browser:
    return Browser(services(tmp_path), lan=True)


@pytest.fixture
def visit(browser: Browser) -> str:
    """A visit that was read; the steps before its proof are passed over."""
    fields = {"procedure": "inspection", "by": "Ines", "firmware": "1.0"}
    made = send(browser, "/vehicles/217/open", fields).rpartition("/")[2]
    desk = browser.server.services.desk
    for step in ("locate", "power", "monitor"):
        tick(TickStep(made, step, "ada"), desk=desk)
    record_as_found(RecordReading(made, MAP, reading(VALUES, desk), "ada"), desk=desk)
    override(OverrideGate(made, "prove", "steps-done", "ada", "only the proof"), desk=desk)
    return made


@pytest.fixture
def clips(tmp_path: Path) -> list[Path]:
    short_drive(tmp_path / "drive", START, cameras=2)
    return sorted((tmp_path / "drive").iterdir())


def announce(client: TestClient, visit: str, data: bytes, name: str) -> Any:
    card = {
        "name": name, "size": len(data), "sha256": hashlib.sha256(data).hexdigest(),
        "by": "Bo", "recording": True,
    }  # fmt: skip
    client.headers["X-CSRF-Token"] = client.get(f"{API}/session").json()["csrf_token"]
    return client.post(f"{API}/visits/{visit}/uploads", json=card)


def piece(client: TestClient, place: str, offset: int, data: bytes) -> Any:
    headers = {"Content-Type": "application/offset+octet-stream", "Upload-Offset": str(offset)}
    return client.patch(place, content=data, headers=headers)


def paired(browser: Browser) -> TestClient:
    phone = browser.from_seat(PHONE)
    code = browser.server.pairing.new_code().text
    send(phone, "/pair", {"code": code, "name": "Bo's phone"})
    return phone


def head(browser: Browser, visit: str) -> str:
    return browser.server.services.desk.store.heads([visit])[visit][1]


def test_a_phone_sends_recordings_and_has_them_looked_at(
    browser: Browser, visit: str, clips: list[Path]
) -> None:
    phone = paired(browser)
    for path in clips:
        data = path.read_bytes()
        begun = announce(phone, visit, data, path.name)
        place, half = begun.headers["Location"], len(data) // 2
        assert piece(phone, place, 0, data[:half]).status_code == 204
        # What came before the break is not sent again.
        again = announce(phone, visit, data, path.name)
        assert (again.status_code, again.headers["Upload-Offset"]) == (200, str(half))
        assert piece(phone, place, half, data[half:]).headers["Upload-Offset"] == str(len(data))
        assert phone.get(place).json()["state"] == "kept"
    page = phone.get(f"/visits/{visit}/proof").text
    assert "Look at the 2 recordings that are here" in page
    assert clips[0].name not in phone.get(f"/visits/{visit}/read").text, "no photographs"
    fields = {"csrf": token(phone), "head": head(browser, visit), "by": "Bo", "folder": "sent"}
    assert phone.post(f"/visits/{visit}/proof/start", data=fields).status_code == 303
    (task,) = [item for item in browser.server.tasks.of(visit) if item.kind == "prove"]
    assert browser.server.tasks.wait(task.id, WAIT_S).state == "done"
    proof = phone.get(f"{API}/visits/{visit}/proof").json()
    kinds = {
        (item["channel"], finding["kind"])
        for item in proof["recordings"]
        for finding in item["findings"]
    }
    # tests/proof_visit.py puts the standstill into camera 2.
    assert (2, "frozen") in kinds and (1, "frozen") not in kinds
    assert phone.post(f"/visits/{visit}/proof/forget", data=fields).status_code == 303
    sent = sent_recordings(visit, browser.server.services.uploads)
    assert not sent.here and not sent.coming
    assert phone.get(f"{API}/visits/{visit}/proof").json() == proof, "what was found stays"


def test_a_folder_of_the_laptop_is_still_the_laptops(browser: Browser, visit: str) -> None:
    phone = paired(browser)
    fields = {"csrf": token(phone), "head": head(browser, visit), "by": "Bo", "folder": "0" * 16}
    assert phone.post(f"/visits/{visit}/proof/start", data=fields).status_code == 403
    fields["folder"] = "sent"
    answer = phone.post(f"/visits/{visit}/proof/start", data=fields)
    assert answer.status_code == 422 and "no recording was sent yet" in answer.text


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("../../../etc/cam1.mp4", "cam1.mp4"),
        ("..mp4.mp4", "mp4.mp4"),
        ("Bus 217 – Tür.MKV", "Bus_217_T_r.mkv"),
        (".cam1\n.ts", "cam1_.ts"),
    ],
)
def test_names_lead_nowhere(browser: Browser, visit: str, name: str, kept: str) -> None:
    made = browser.server.services
    assert announce(browser, visit, b"x", name).status_code == 201
    (upload,) = sent_recordings(visit, made.uploads).coming
    piece(browser, f"{API}/visits/{visit}/uploads/{upload.id}", 0, b"x")
    fields = {"head": head(browser, visit), "by": "Ines", "folder": "sent"}
    send(browser, f"/visits/{visit}/proof/start", fields)
    (task,) = [item for item in browser.server.tasks.of(visit) if item.kind == "prove"]
    browser.server.tasks.wait(task.id, WAIT_S)
    shown = browser.get(f"{API}/visits/{visit}/proof").json()["recordings"]
    assert [Path(item["file"]).name for item in shown] == [kept]


def test_what_is_no_recording_is_refused(browser: Browser, visit: str) -> None:
    answer = announce(browser, visit, b"text", "notes.txt")
    assert answer.status_code == 422 and "no kind of recording" in answer.json()["detail"]


def test_two_of_one_name_are_two(browser: Browser, visit: str, clips: list[Path]) -> None:
    for path in clips:
        data = path.read_bytes()
        begun = announce(browser, visit, data, "cam.mp4")
        piece(browser, begun.headers["Location"], 0, data)
    fields = {"head": head(browser, visit), "by": "Ines", "folder": "sent"}
    send(browser, f"/visits/{visit}/proof/start", fields)
    (task,) = [item for item in browser.server.tasks.of(visit) if item.kind == "prove"]
    assert browser.server.tasks.wait(task.id, WAIT_S).state == "done"
    shown = browser.get(f"{API}/visits/{visit}/proof").json()["recordings"]
    assert sorted(Path(item["file"]).name for item in shown) == ["cam-2.mp4", "cam.mp4"]


def test_without_a_script_recordings_are_a_plain_form(
    browser: Browser, visit: str, clips: list[Path]
) -> None:
    files = [("recordings", (path.name, path.read_bytes(), "video/mp4")) for path in clips]
    fields = {"csrf": token(browser)}
    answer = browser.post(f"/visits/{visit}/proof/send", data=fields, files=files)
    assert answer.status_code == 303
    assert len(sent_recordings(visit, browser.server.services.uploads).here) == len(clips)
    answer = browser.post(f"/visits/{visit}/proof/send", data=fields)
    assert answer.status_code == 422 and "no recordings were chosen" in answer.text
