"""The page of motion triggers: logs that are sent, other settings without a script.

Drives are simulated (demo/drives.py).
"""

from __future__ import annotations

import html
import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient
from tests.jobs.drive_kit import csv_of
from tests.web.kit import Browser, services

from asfound.demo.drives import START_S, VAN, Conditions, Drive, drive
from asfound.web.limits import DRIVES, body_limit

PATH = "/bench/triggers"
Files = list[tuple[str, tuple[str, bytes, str]]]


@pytest.fixture
def client(tmp_path: Path) -> Browser:
    return Browser(services(tmp_path))


@pytest.fixture(scope="module")
def trips() -> list[Drive]:
    return [drive(64500 + n, 8.5, VAN, Conditions(harsh_an_hour=22)) for n in range(3)]


def files_of(trips: list[Drive], labels: bool = True) -> Files:
    made: Files = []
    for n, each in enumerate(trips):
        rows = zip(each.track.times_s, each.track.speed_ms, each.track.course_deg, strict=True)
        track = "time,speed,course\n" + "".join(f"{t},{v * 3.6:.2f},{c:.1f}\n" for t, v, c in rows)
        harsh = "start,end,kind\n" + "".join(
            f"{one.start_s - START_S:.2f},{one.end_s - START_S:.2f},{one.kind}\n"
            for one in each.labels
        )
        made.append(("logs", (f"trip{n}.csv", csv_of(each), "text/csv")))
        made.append(("tracks", (f"track{n}.csv", track.encode(), "text/csv")))
        if labels:
            made.append(("labels", (f"labels{n}.csv", harsh.encode(), "text/csv")))
    return made


def sent(client: TestClient, fields: dict[str, str], files: Files, status: int = 200) -> str:
    token = client.get(PATH).text.partition('name="csrf" value="')[2].partition('"')[0]
    data = {"csrf": token, "track_map": "time-unit=s", **fields}
    answer = client.post(PATH, data=data, files=files)
    assert answer.status_code == status, answer.text
    return str(answer.text)


def test_settings_and_how_far_they_can_be_believed(client: TestClient, trips: list[Drive]) -> None:
    page = sent(client, {"budget": "3/day"}, files_of(trips))
    assert "events a day outside of marked ones" in page
    assert "0.425 h of log cannot show 3 events a day to be kept" in page
    assert "judged on 3 parts of the logs" in page and "One raw sample at 0.4 g" in page
    assert page.count("data-curve=") == 3 and 'name="g-forward"' in page
    assert "trip2.csv" in page and "forward to" in page
    assert 'value="3/day"' in page and 'value="time-unit=s"' in page


def test_other_settings_without_a_script(client: TestClient, trips: list[Drive]) -> None:
    page = sent(client, {}, files_of(trips))
    grid = html.unescape(re.findall(r'name="grid" value="([^"]+)"', page)[0])
    token = page.partition('name="csrf" value="')[2].partition('"')[0]
    fields = {"csrf": token, "grid": grid, "on-forward": "on", "g-forward": "0.31"}
    fields |= {f"s-{name}": "0.4" for name in ("forward", "sideways", "upright")}
    tried = client.post(f"{PATH}/try", data=fields)
    assert tried.status_code == 200 and 'value="0.3"' in tried.text
    assert tried.text.count(" checked>") == 1 and "trip2.csv" not in tried.text
    higher = client.post(f"{PATH}/try", data=fields | {"g-forward": "1.9"})
    assert 'data-out="caught">0<' in higher.text
    broken = client.post(f"{PATH}/try", data=fields | {"grid": grid[:-9]})
    assert broken.status_code == 422 and "send the logs again" in broken.text


def test_without_labels_a_budget_is_needed(client: TestClient, trips: list[Drive]) -> None:
    page = sent(client, {}, files_of(trips, labels=False), 422)
    assert "a budget is needed: say budget 3/day" in page
    kept = sent(client, {"budget": "100/day"}, files_of(trips, labels=False))
    assert "marked" not in kept.partition('class="answer"')[2].partition("</p>")[0]
    assert "Accepted: 100 a day." in kept


@pytest.mark.parametrize(
    ("fields", "name", "raw", "said"),
    [
        ({"budget": "many"}, "a.csv", b"time,x,y,z\n", "write events a day"),
        ({"budget": "3/day"}, "<b>.csv", b"what,is,this\n1,2,3\n", "&lt;b&gt;.csv"),
        ({"budget": "3/day", "map": "x"}, "a.csv", b"time,x,y,z\n", "NAME=VALUE"),
        ({"budget": "3/day"}, "a.csv", b"", "is empty"),
    ],
)
def test_what_cannot_be_is_said_and_what_was_typed_stays(
    client: TestClient, fields: dict[str, str], name: str, raw: bytes, said: str
) -> None:
    page = sent(client, fields, [("logs", (name, raw, "text/csv"))], 422)
    assert said in page and f'value="{fields["budget"]}"' in page
    assert "<b>.csv" not in page


def test_no_log_and_how_much_may_be_sent(client: TestClient) -> None:
    assert "choose a log first" in sent(client, {"budget": "3/day"}, [], 422)
    assert body_limit(PATH) == body_limit(f"{PATH}/try") == DRIVES
    assert "Motion triggers" in client.get("/bench").text
