"""The pages of drives: life in an address that can be shared, health from reports that are sent.

Expected figures: 16 Mbit/s all day are 63.072 TB a year (computed by hand). Reports are of invented
drives (tests/smart_reports.py).
"""

from __future__ import annotations

from pathlib import Path
from urllib.parse import urlencode

import pytest
from starlette.testclient import TestClient
from tests.smart_reports import hdd, head, nvme, text
from tests.web.kit import Browser, services

from asfound.jobs.drive_health import NO_PROOF
from asfound.web.limits import REPORTS

LIFE = {"drive": "1TB", "tbw": "600TB", "rate": "16Mbit/s", "hours": "24", "spread": "0%"}
HEALTH = "/bench/drive/health"
JSON = "application/json"


@pytest.fixture
def client(tmp_path: Path) -> Browser:
    return Browser(services(tmp_path))


def sent(client: TestClient, *reports: tuple[str, bytes], status: int = 200) -> str:
    token = client.get(HEALTH).text.partition('name="csrf" value="')[2].partition('"')[0]
    files = [("reports", (name, data, JSON)) for name, data in reports]
    answer = client.post(HEALTH, data={"csrf": token}, files=files)
    assert answer.status_code == status, answer.text
    return str(answer.text)


def test_life(client: TestClient) -> None:
    page = client.get(f"/bench/drive?{urlencode({**LIFE, 'years': '12'})}").text
    assert "The rated writes last 9.5 years from now on" in page
    assert "9.5 to 9.5 years, 12 were asked for" in page and "63.1 TB" in page
    assert '<figure class="drawn">' in page and 'value="600TB"' in page
    disk = client.get(f"/bench/drive?{urlencode({**LIFE, 'tbw': '', 'workload': '55TB'})}").text
    assert "63.1 TB are written in a year" in disk and "take one for 180" in disk


@pytest.mark.parametrize(
    ("change", "said"),
    [({"tbw": ""}, "no rating"), ({"rate": ""}, "channels is missing"), ({"tbw": "6"}, "tbw")],
)
def test_what_cannot_be_is_said_and_what_was_typed_stays(
    client: TestClient, change: dict[str, str], said: str
) -> None:
    page = client.get(f"/bench/drive?{urlencode({**LIFE, **change})}")
    assert page.status_code == 422 and said in page.text
    assert 'value="1TB"' in page.text and '<figure class="drawn">' not in page.text


def test_health_of_several_drives(client: TestClient) -> None:
    page = sent(
        client,
        ("good.json", text(hdd())),
        ("old.json", text(hdd({197: 8}))),
        ("gone.json", text(nvme({"critical_warning": 8}))),
        ("hidden.json", text(head("SCSI") | {"smart_status": None})),
    )
    assert "nothing speaks against it." in page and "do not take it for good." in page
    assert "sectors that wait to be read or replaced: 8 (attribute 197)" in page
    assert "limit 0; Backblaze drive statistics" in page
    assert "the drive has gone read-only" in page and "a USB adapter may hide it" in page
    assert f"{NO_PROOF}." in page and page.count("TARN-4000V") == 4


def test_a_file_that_is_no_report_does_not_hide_the_others(client: TestClient) -> None:
    odd = ("<script>.json", b'{"blockdevices": []}')
    page = sent(client, odd, ("good.json", text(hdd())))
    assert "not a drive&#39;s report" in page and "nothing speaks against it." in page
    assert "<script>.json" not in page
    assert "not a drive&#39;s report" in sent(client, odd, status=422)


def test_marks_in_a_report_are_shown_as_text(client: TestClient) -> None:
    page = sent(client, ("a.json", text(hdd(model_name="<b>x</b>", serial_number="\x1b[2J"))))
    assert "&lt;b&gt;x&lt;/b&gt;" in page and "<b>x</b>" not in page and "\x1b" not in page


def test_no_file_and_too_much(client: TestClient) -> None:
    page = sent(client, status=422)
    assert "choose a report first" in page and 'role="alert"' in page
    large = sent(client, ("large.json", b" " * 4_500_000), status=422)
    assert "larger than any report" in large
    answer = client.post(HEALTH, content=b"", headers={"content-length": str(REPORTS + 1)})
    assert answer.status_code == 413


def test_the_page_says_how_to_test_for_false_sizes(client: TestClient) -> None:
    page = client.get(HEALTH).text
    assert "asfound drive test /media/stick" in page and "Use an empty drive." in page
