"""The bench's pages: what was typed stays, the sums stand beside it, addresses can be shared."""

from __future__ import annotations

import re
from pathlib import Path
from urllib.parse import urlencode

import pytest
from starlette.testclient import TestClient
from tests.web.kit import Browser, services

from asfound.web.bench import TOOLS

DAYS = {"drive": "1TB", "channels": "4x2Mbit/s", "hours": "24", "file_system": "0%"}
LEADS = {"supply": "24V", "load": "60W", "length": "12m", "section": "1.5mm2"}
LENS = {"sensor": "4.8x3.6mm", "focal": "4mm", "pixels": "1920", "distance": "5m", "height": "2m"}


@pytest.fixture
def client(tmp_path: Path) -> TestClient:
    return Browser(services(tmp_path))


def test_every_calculation_is_listed_and_opens_empty(client: TestClient) -> None:
    listed = client.get("/bench").text
    for tool in TOOLS:
        assert f'href="/bench/{tool.path}"' in listed
        page = client.get(f"/bench/{tool.path}")
        assert page.status_code == 200 and 'role="alert"' not in page.text
        assert '<figure class="drawn">' not in page.text


def test_days(client: TestClient) -> None:
    page = client.get(f"/bench/days?{urlencode({**DAYS, 'promised': '30'})}").text
    # 4 channels of 2 Mbit/s all day on 1 TB: 11.574 days (decimal prefixes, IEC 80000-13).
    assert "11.6 days are kept" in page and "10 to 14 days are kept, 30 were promised" in page
    assert 'value="4x2Mbit/s"' in page and 'role="img"' in page
    [kept] = re.findall(r'name="was" value="([^"]+)"', page)
    assert "drive=1TB" in kept


def test_side_by_side(client: TestClient) -> None:
    was = urlencode(DAYS)
    page = client.get(f"/bench/days?{urlencode({**DAYS, 'drive': '2TB', 'was': was})}").text
    assert ">A</th>" in page and ">B</th>" in page and "23.1 days are kept" in page
    assert "11.6 <span" in page
    mangled = urlencode([*DAYS.items(), ("was", "drive=x"), ("was", "z" * 2000)])
    assert client.get(f"/bench/days?{mangled}").status_code == 200


def test_leads_and_lens(client: TestClient) -> None:
    page = client.get(f"/bench/leads?{urlencode(LEADS)}").text
    assert "are lost" in page and "orange" in page
    page = client.get(f"/bench/lens?{urlencode(LENS)}").text
    # Handbook example: 1920 px, 4.8 mm, 4 mm, 5 m: 6 m wide, 320 pixels a metre.
    assert "6.00 m across at 5 m, 320.0 pixels a metre" in page and "identify" in page
    assert page.count('<figure class="drawn">') == 2


@pytest.mark.parametrize(
    ("address", "said"),
    [
        ("/bench/days?drive=1XB&hours=3", "channels is missing"),
        ("/bench/leads?supply=24", "length is missing"),
        ("/bench/lens?sensor=1%2F3", "names, not sizes"),
        ("/bench/lens?sensor=%3Cscript%3E&focal=1", "sensor"),
    ],
)
def test_what_is_wrong_is_said_and_what_was_typed_stays(
    client: TestClient, address: str, said: str
) -> None:
    page = client.get(address)
    assert page.status_code == 422 and said in page.text and 'role="alert"' in page.text
    assert "<script>" not in page.text.replace('<script type="module"', "")
    first = address.partition("?")[2].split("=")[0]
    assert f'name="{first}"' in page.text


def test_settings_of_a_vehicle_are_checked(client: TestClient) -> None:
    page = client.get("/bench/check?vehicle=217&drive=1TB&hours=12&promised=30").text
    assert "as the fleet agreed; no visit knows more" in page and "Not checked:" in page
    assert client.get("/bench/check?vehicle=nobody").status_code == 404
    assert client.get("/bench/check?vehicle=217&hours=25").status_code == 422


def test_days_of_a_vehicle_nobody_looked_at(client: TestClient) -> None:
    page = client.get("/bench/days?vehicle=217&hours=12&drive=1TB")
    assert page.status_code == 404 and "no recordings of vehicle 217 were looked at" in page.text
    typed = client.get(f"/bench/days?{urlencode({**DAYS, 'vehicle': '217'})}").text
    assert "11.6 days are kept" in typed and "as measured" not in typed
