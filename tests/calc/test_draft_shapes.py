"""What one value looks like. Addresses and times are held against the standard library."""

from __future__ import annotations

import datetime
import ipaddress
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.draft_shapes import (
    amount,
    date_layouts,
    has_seconds,
    is_address,
    is_host,
    is_mask,
    is_padded,
    is_time,
    mended,
    switch_word,
    without_marks,
)


@given(st.ip_addresses(v=4))
def test_every_address_is_one(address: ipaddress.IPv4Address) -> None:
    assert is_address(str(address))
    padded = ".".join(f"{part:03}" for part in address.packed)
    assert is_address(padded)
    assert is_padded(padded) == any(part < 100 for part in address.packed)
    assert not is_host(str(address))


@given(st.times().map(lambda time: time.replace(microsecond=0)))
def test_every_time_of_day_is_one(time: datetime.time) -> None:
    assert is_time(f"{time:%H:%M}") and not has_seconds(f"{time:%H:%M}")
    assert is_time(f"{time:%H:%M:%S}") and has_seconds(f"{time:%H:%M:%S}")


@given(st.dates(min_value=datetime.date(1990, 1, 1)))
def test_every_date_is_one_in_its_layout(day: datetime.date) -> None:
    assert date_layouts(f"{day:%Y-%m-%d}") == ("YYYY-MM-DD",)
    assert "DD/MM/YYYY" in date_layouts(f"{day:%d/%m/%Y}")
    assert "MM/DD/YYYY" in date_layouts(f"{day:%m/%d/%Y}")
    # Only a day up to the 12th can be read both ways.
    assert (len(date_layouts(f"{day:%d/%m/%Y}")) == 2) == (day.day <= 12)


@pytest.mark.parametrize("text", ["25:00", "7:30", "12:60", "-1:00", "2026-02-30", "1.2.3", "h"])
def test_what_only_resembles_a_time_date_or_address(text: str) -> None:
    assert not is_time(text)
    assert not date_layouts(text)
    assert not is_address(text)


@pytest.mark.parametrize(
    ("text", "value", "decimals", "unit"),
    [
        ("300 s", "300", 0, "s"),
        ("2.5 Mbit/s", "2.5", 1, "Mbit/s"),
        ("57 S", "57", 0, "s"),
        ("-19 °C", "-19", 0, "°C"),
        ("10C", "10", 0, "°C"),
        ("8081", "8081", 0, ""),
        ("0,70 g", "0.70", 2, "g"),
        ("360 lines", "360", 0, "lines"),
    ],
)
def test_amounts(text: str, value: str, decimals: int, unit: str) -> None:
    found = amount(text)
    assert found is not None
    assert (found.value, found.decimals, found.unit) == (Decimal(value), decimals, unit)


@pytest.mark.parametrize("text", ["HD 720", "0ff", "0n", "Off", "255I", "1 of 2", "4.0.2", "12:30"])
def test_what_is_no_amount(text: str) -> None:
    assert amount(text) is None


def test_hosts_masks_and_switch_words() -> None:
    assert is_host("rec-1.example.net") and not is_host("Depot 5") and not is_host("H.264")
    assert is_mask("******") and is_mask("• • • •") and not is_mask("......") and not is_mask("**")
    assert switch_word("OFF") == ("on", "off")
    assert switch_word("0ff") == ("on", "off")
    assert switch_word("Auto") is None
    assert (mended("0ff"), mended("0n"), mended("10")) == ("Off", "On", "10")


@pytest.mark.parametrize(
    ("whole", "inner", "clean", "lamp"),
    [
        ("< 10 s >", "", "10 s", False),
        ("[Never lit ]", "Never lit", "Never lit", False),
        ("O Off", "", "Off", True),
        ("10 Live→", "Live", "Live", True),
        ("Saloon 1", "Saloon", "Saloon 1", False),
        ("All is well", "All is wel", "All is well", False),
        ("10 s", "s", "10 s", False),
        ("0 days", "days", "0 days", False),
    ],
)
def test_marks_and_lamps_go_and_the_value_stays(
    whole: str, inner: str, clean: str, lamp: bool
) -> None:
    assert without_marks(whole, inner) == (clean, lamp)


@given(st.text(max_size=30), st.text(max_size=30))
def test_any_text_can_be_looked_at(whole: str, inner: str) -> None:
    clean, _ = without_marks(whole, inner)
    assert clean in whole or clean in inner
    amount(clean)
    switch_word(clean)
