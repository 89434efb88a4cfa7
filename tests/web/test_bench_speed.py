"""The pages of speed: logs that are sent, what is typed stays. The simulation knows its pulses."""

from __future__ import annotations

from pathlib import Path

import pytest
from starlette.testclient import TestClient
from tests.drive_logs import gpx_of, pulses_of
from tests.web.kit import Browser, services

from simulated_drives import drive, pulse_counts, receiver

OVER, PULSES = "/bench/speed", "/bench/speed/pulses"


@pytest.fixture
def client(tmp_path: Path) -> Browser:
    return Browser(services(tmp_path))


@pytest.fixture(scope="module")
def logs() -> tuple[bytes, bytes]:
    made = drive(1700, 20)
    track, pulses = receiver(made, 1700, 0.0), pulse_counts(made, 1700, 8230)
    return gpx_of(track).encode(), pulses_of(*pulses).encode()


def sent(
    client: TestClient,
    path: str,
    fields: dict[str, str],
    files: list[tuple[str, tuple[str, bytes]]],
    status: int = 200,
) -> str:
    token = client.get(path).text.partition('name="csrf" value="')[2].partition('"')[0]
    answer = client.post(path, data={"csrf": token, **fields}, files=files)
    assert answer.status_code == status, answer.text
    return str(answer.text)


def test_events_a_day(client: TestClient, logs: tuple[bytes, bytes]) -> None:
    files = [("logs", ("drive.gpx", logs[0]))]
    page = sent(client, OVER, {"limit": "50km/h", "budget": "1"}, files)
    assert "events a day" in page and "50 km/h were passed" in page
    assert "Lowest limit within the budget:" in page and '<figure class="drawn">' in page
    assert "a speedometer may show up to 59 km/h" in page and "drive.gpx" in page


def test_a_broken_log_says_what_was_left_out(client: TestClient, logs: tuple[bytes, bytes]) -> None:
    broken = logs[0][: len(logs[0]) // 2]
    page = sent(client, OVER, {"limit": "50km/h"}, [("logs", ("<b>.gpx", broken))])
    assert "not readable from here on" in page and "left out: 1" in page
    assert "<b>.gpx" not in page and "&lt;b&gt;.gpx" in page


def test_what_cannot_be_is_said_and_what_was_typed_stays(
    client: TestClient, logs: tuple[bytes, bytes]
) -> None:
    for fields, files, said in (
        ({"limit": "77"}, [("logs", ("drive.gpx", logs[0]))], "limit"),
        ({"limit": "77km/h"}, [], "choose a log first"),
        ({"limit": "77km/h"}, [("logs", ("a.csv", b"a,b\n1,2\n"))], "name the column of times"),
    ):
        page = sent(client, OVER, fields, files or [("other", ("x", b""))], 422)
        assert said in page and f'value="{fields["limit"]}"' in page


def test_pulses_a_kilometre(client: TestClient, logs: tuple[bytes, bytes]) -> None:
    files = [("track", ("drive.gpx", logs[0])), ("pulses", ("pulses.csv", logs[1]))]
    fields = {"setting": "8000", "tyre": "295/80R22.5", "pulse_times": "s"}
    page = sent(client, PULSES, fields, files)
    assert "pulses a km" in page and "set are 8000, measured 82" in page
    assert "pulses a turn of the wheel" in page and '<figure class="drawn">' in page
    refused = sent(client, PULSES, fields, files[1:], 422)
    assert "the track of the same drive" in refused and 'value="8000"' in refused
