"""What a person types: the recorder's own writing is read back exactly, nothing is mended."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from ipaddress import IPv4Address

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.typed_value import typed_value
from asfound.model.kinds import (
    Choice,
    Date,
    DateLayout,
    FieldType,
    Host,
    IPv4,
    Level,
    Number,
    ReadOnly,
    Secret,
    Switch,
    Text,
    Time,
)
from asfound.model.values import shown

RATE = Number(Decimal(0), Decimal(60), Decimal("0.5"), 1, "s", ("Never",))


@pytest.mark.parametrize(
    ("kind", "text", "value"),
    [
        (Choice(("CIF", "HD 720")), "hd 720", "HD 720"),
        (Choice(("low", "Low", "High")), "Low", "Low"),
        (Switch("Enabled", "Disabled"), " disabled ", "off"),
        (Switch("Enabled", "Disabled"), "ON", "on"),
        (RATE, "4", "4.0"),
        (RATE, "4.5 s", "4.5"),
        (RATE, "4.5S", "4.5"),
        (RATE, "never", "Never"),
        (Level(0, 9), "7", "7"),
        (Time(), "07:30", "07:30"),
        (Date("DD.MM.YYYY"), "24.12.2026", "2026-12-24"),
        (Date("DD.MM.YYYY"), "2026-12-24", "2026-12-24"),
        (IPv4(padded=True), "192.168.001.010", "192.168.1.10"),
        (Host(), "", ""),
        (Text(8), " Bus 217 ", "Bus 217"),
        (Secret(), "Set", "set"),
        (ReadOnly(), "V 3.2", "V 3.2"),
    ],
)
def test_what_the_recorder_writes_is_taken(kind: FieldType, text: str, value: str) -> None:
    assert typed_value(kind, text) == (value, "")


@pytest.mark.parametrize(
    ("kind", "text", "why"),
    [
        (Choice(("low", "Low", "High")), "LOW", "is not one of"),
        (Switch(), "maybe", "neither"),
        (RATE, "4.25", "not written with 1 decimals"),
        (RATE, "61", "outside 0 to 60"),
        (RATE, "four", "is not a number"),
        (RATE, "NaN", "not written"),
        (Date("MM/DD/YYYY"), "24/12/2026", "not a calendar date"),
        (Date("DD.MM.YYYY"), "24/12/2026", "not a date"),
        (IPv4(), "192.168.1.256", "above 255"),
        (IPv4(), "192.168.1", "not an IPv4"),
        (Host(), "two words", "not a host name"),
        (Text(8, "AB"), "ABC", "does not take"),
        (Text(8), "A\x1b[2J", "unseen character ⟨U+001B⟩"),
        (Secret(), "pass1234", "only ever"),
    ],
)
def test_what_it_cannot_have_is_said(kind: FieldType, text: str, why: str) -> None:
    value, said = typed_value(kind, text)
    assert value is None and why in said


LAYOUTS: tuple[DateLayout, ...] = ("YYYY-MM-DD", "DD.MM.YYYY", "DD/MM/YYYY", "MM/DD/YYYY")


@given(st.dates(), st.sampled_from(LAYOUTS))
def test_dates_come_back(day: date, layout: DateLayout) -> None:
    # date.isoformat is the standard library's YYYY-MM-DD.
    kind = Date(layout)
    assert typed_value(kind, shown(kind, day.isoformat())) == (day.isoformat(), "")


@given(st.integers(0, 2**32 - 1), st.booleans())
def test_addresses_come_back(number: int, padded: bool) -> None:
    # ipaddress is the standard library's own reading of an address.
    kind, address = IPv4(padded), str(IPv4Address(number))
    assert typed_value(kind, shown(kind, address)) == (address, "")


@given(st.integers(0, 120))
def test_numbers_come_back(halves: int) -> None:
    value = f"{Decimal(halves) / 2:.1f}"
    assert typed_value(RATE, shown(RATE, value)) == (value, "")
