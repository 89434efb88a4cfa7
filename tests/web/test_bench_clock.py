"""The pages of clocks: drift and zone in addresses that can be shared, the offset from logs.

10 ppm are 0.864 s a day (identity); zones by IANA tz database 2026f.
"""

from __future__ import annotations

from pathlib import Path
from urllib.parse import urlencode

import pytest
from starlette.testclient import TestClient
from tests.drive_logs import csv_of, gpx_of
from tests.web.kit import Browser, services

from simulated_drives import drive, receiver, recorder

READINGS = "2026-03-01T08:00:00Z +2\n2026-03-31T08:00:00Z +28\n2026-04-30T08:00:00Z +54"


@pytest.fixture
def client(tmp_path: Path) -> Browser:
    return Browser(services(tmp_path))


def test_drift(client: TestClient) -> None:
    fields = {"readings": READINGS, "until": "2026-12-31"}
    page = client.get(f"/bench/clock?{urlencode(fields)}").text
    assert "+10.03 ppm, +0.87 s a day" in page and "Off by 60 s on about 2026-05-0" in page
    assert "set it before" in page and '<figure class="drawn">' in page
    alone = client.get("/bench/clock?vehicle=217")
    assert alone.status_code == 422 and "there are 0" in alone.text
    odd = client.get("/bench/clock?readings=soon")
    assert odd.status_code == 422 and ">soon</textarea>" in odd.text
    assert client.get("/bench/clock?vehicle=none").status_code == 404


def test_zone(client: TestClient) -> None:
    fields = {"place": "Europe/Berlin", "year": "2026", "recorder": "+01:00"}
    page = client.get(f"/bench/clock/zone?{urlencode(fields)}").text
    assert "Wrong on 210.0 days of 2026" in page and "03‑29 01:00" in page
    assert "does not exist" in page and "comes twice" in page and "11:00" in page
    still = client.get("/bench/clock/zone?place=Asia/Kolkata&year=2026").text
    assert "Asia/Kolkata does not change in 2026." in still and "Wrong on" not in still
    assert client.get("/bench/clock/zone?place=Nowhere").status_code == 422


def test_match(client: TestClient) -> None:
    made = drive(1800, 15)
    shown = csv_of(recorder(made, 1800, 258.0, (10, 880))).encode()
    other = gpx_of(receiver(made, 1800, 0.0)).encode()
    path = "/bench/clock/match"
    token = client.get(path).text.partition('name="csrf" value="')[2].partition('"')[0]
    fields = {"csrf": token, "columns": "speed=v", "allowed": "60s"}
    files = [("recorder", ("recorder.csv", shown)), ("reference", ("phone.gpx", other))]
    page = client.post(path, data=fields, files=files).text
    assert "s ahead ± 0." in page and "60 s are allowed" in page
    assert "receivers tell speeds late" in page and '<figure class="drawn">' in page
    short = [("recorder", ("recorder.csv", shown[:3000])), files[1]]
    page = client.post(path, data=fields, files=short).text
    assert "could not tell" in page and "s ahead ±" not in page
    refused = client.post(path, data=fields, files=files[:1])
    assert refused.status_code == 422 and "a log whose clock is right" in refused.text
