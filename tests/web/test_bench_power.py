"""Pages of a recorder's supply: the sums' own tests hold the figures, these what pages show."""

from __future__ import annotations

from pathlib import Path
from urllib.parse import urlencode

import pytest
from starlette.testclient import TestClient
from tests.web.kit import Browser, services

from asfound.ports.backends.voltage_rules_toml import load_voltage_rules
from asfound.web.pages.bench_power import places_of

PARKED = {"system": "24V", "battery": "170Ah", "parked": "62h", "health": "100%", "celsius": "25"}
CRANK = {"system": "24V", "code": "H", "hold_up": "200ms", "boot": "45s"}


@pytest.fixture
def client(tmp_path: Path) -> TestClient:
    return Browser(services(tmp_path))


def page(client: TestClient, tool: str, fields: dict[str, str]) -> str:
    answer = client.get(f"/bench/power/{tool}?{urlencode(fields)}")
    assert answer.status_code == 200, answer.text
    return answer.text


def test_three_tools_below_one_address(client: TestClient) -> None:
    listed = client.get("/bench/power").text
    for tool in ("parked", "crank", "volts"):
        assert f'href="/bench/power/{tool}"' in listed
        empty = client.get(f"/bench/power/{tool}").text
        # Cautions stand there before anything is typed.
        assert "orange" in empty and 'role="alert"' not in empty
    assert 'href="/bench/days"' not in listed.partition("<main")[2]


def test_parked(client: TestClient) -> None:
    shown = page(client, "parked", {**PARKED, "charge": "90%", "vehicle_draws": "2A"})
    # 40 % of 170 Ah at 2.007 A (3 % in 30 days by itself besides): 34 h.
    assert "Enough for a start is left for 34 h" in shown and "after 34 h" in shown
    assert '<figure class="drawn">' in shown and "at the least" not in shown
    band = page(client, "parked", {**PARKED, "rest_volts": "25,2"})
    assert "at the least" in band and "from " in band
    empty = page(client, "parked", {**PARKED, "charge": "40%"})
    assert "Too little for a start from the beginning" in empty
    frost = page(client, "parked", {**PARKED, "charge": "75%", "celsius": "-20"})
    assert "leaves no run-on" in frost


def test_crank(client: TestClient) -> None:
    shown = page(client, "crank", CRANK)
    assert "drops out" in shown and "nothing is recorded for 54.9 s" in shown
    assert "load dump, suppressed" in shown and '<option value="H" selected>' in shown
    alone = page(client, "crank", {"system": "12V", "least": "9V", "most": "200V", "lowest": "10V"})
    assert "rides through" in alone and "More voltage" not in alone


def test_volts(client: TestClient) -> None:
    shown = page(client, "volts", {"system": "24V", "battery-on": "25.2", "plug-on": "0"})
    assert "Isolator off" in shown and "a hint" in shown and "Measure next" in shown
    assert 'href="#fuse-out-on"' in shown and "Could not tell (" in shown
    assert 'value="25.2"' in shown
    sound = page(client, "volts", {"system": "12V", "battery-off": "12.65"})
    assert "Nothing that was measured speaks for a cause." in sound
    doubt = page(client, "volts", {"system": "12V", "battery-off": "11.97"})
    assert "(within the meter" in doubt
    # Rules against a cause are shown as such.
    fields = {"system": "24V", "code": "H", "plug-on": "34", "battery-running": "28"}
    both = page(client, "volts", fields)
    assert "against it:" in both


def test_every_reading_has_a_field_and_one_alone() -> None:
    rules = load_voltage_rules()
    placed = [one.id for _, several in places_of(rules) for one in several]
    assert sorted(placed) == sorted(n for n, one in rules.readings.items() if not one.given)
    assert len({title for title, _ in places_of(rules)}) == len(places_of(rules))


@pytest.mark.parametrize(
    ("address", "said"),
    [
        ("parked?battery=170Ah", "system is missing"),
        ("parked?system=24V&battery=%3Cscript%3E&parked=3d", "battery"),
        ("crank?system=24V", "say what the recorder takes"),
        ("crank?system=24V&code=A&starts=IX", "none of 24 V"),
        ("volts?system=24V", "at least one measured voltage"),
        ("volts?system=12V&lower-off=12.5", "on a 12 V vehicle"),
        ("volts?system=12V&%3Cscript%3E=12.5", "there is no reading"),
    ],
)
def test_what_is_wrong_is_said_and_what_was_typed_stays(
    client: TestClient, address: str, said: str
) -> None:
    answer = client.get(f"/bench/power/{address}")
    assert answer.status_code == 422 and said in answer.text and 'role="alert"' in answer.text
    assert "<script>" not in answer.text.replace('<script type="module"', "")
