"""Canonical values: what is accepted, what is refused, how the recorder shows it."""

from __future__ import annotations

import ipaddress
from datetime import date, time
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.model.kinds import (
    Choice,
    Date,
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
from asfound.model.values import canonical_number, problem, shown

VOLTS = Number(Decimal("10.5"), Decimal("28.0"), Decimal("0.5"), 1, "V", ("Never",))


@pytest.mark.parametrize(
    ("kind", "good", "bad"),
    [
        (Choice(("Low", "High")), "Low", "low"),
        (Switch(), "on", "On"),
        (VOLTS, "11.5", "11.7"),
        (VOLTS, "Never", "never"),
        (VOLTS, "28.0", "28.5"),
        (VOLTS, "11.0", "11"),
        (Number(Decimal(0), Decimal(9)), "0", "NaN"),
        (Level(-3, 9), "-3", "-4"),
        (Level(0, 9), "7", "07"),
        (Time(), "23:59", "24:00"),
        (Time(seconds=True), "23:59:59", "23:59"),
        (Date(), "2024-02-29", "2023-02-29"),
        (Date(), "2024-02-28", "28.02.2024"),
        (IPv4(), "192.168.1.10", "192.168.001.010"),
        (IPv4(), "255.255.255.0", "256.0.0.1"),
        (Host(12), "a.example", "spaced name"),
        (Host(12), "", "much-too-long.example"),
        (Text(4, "ABC"), "CAB", "CAD"),
        (Text(4), "okay", "long!"),
        (Secret(), "set", "hunter2"),
    ],
)
def test_each_kind_takes_and_refuses(kind: FieldType, good: str, bad: str) -> None:
    assert problem(kind, good) is None
    assert problem(kind, bad)


def test_what_is_only_shown_is_never_refused() -> None:
    assert problem(ReadOnly("serial"), "anything at all") is None


@given(st.text(max_size=20))
def test_ipv4_agrees_with_the_standard_library(text: str) -> None:
    # Outside check: Python's ipaddress follows RFC 6943 section 3.1.1 and refuses padding.
    try:
        ipaddress.IPv4Address(text)
        known_good = text.isascii()
    except ValueError:
        known_good = False
    assert (problem(IPv4(), text) is None) == known_good


@given(st.ip_addresses(v=4))
def test_every_address_is_taken_and_padding_keeps_its_parts(address: ipaddress.IPv4Address) -> None:
    assert problem(IPv4(), str(address)) is None
    padded = shown(IPv4(padded=True), str(address))
    assert [int(part) for part in padded.split(".")] == list(address.packed)
    assert len(padded) == 15


@given(st.dates(min_value=date(1000, 1, 1)))
def test_dates_follow_iso_8601_and_are_shown_in_the_layout(day: date) -> None:
    # ISO 8601 calendar dates through datetime.date; the layouts through strftime.
    assert problem(Date(), day.isoformat()) is None
    assert shown(Date("DD.MM.YYYY"), day.isoformat()) == day.strftime("%d.%m.%Y")
    assert shown(Date("MM/DD/YYYY"), day.isoformat()) == day.strftime("%m/%d/%Y")


@given(st.times())
def test_times_of_day_are_taken(moment: time) -> None:
    assert problem(Time(), moment.strftime("%H:%M")) is None
    assert problem(Time(seconds=True), moment.strftime("%H:%M:%S")) is None


@given(st.integers(0, 35))
def test_numbers_on_the_grid_are_taken_and_between_them_refused(steps: int) -> None:
    value = VOLTS.minimum + VOLTS.step * steps
    assert problem(VOLTS, canonical_number(VOLTS, value)) is None
    assert problem(VOLTS, canonical_number(VOLTS, value + Decimal("0.1")))


@given(st.text(max_size=8))
def test_a_number_field_never_raises_on_any_text(text: str) -> None:
    problem(VOLTS, text)
    problem(Level(0, 5), text)
    problem(Date(), text)
    problem(Time(), text)


def test_values_are_shown_with_words_and_units() -> None:
    assert shown(VOLTS, "11.5") == "11.5 V"
    assert shown(VOLTS, "Never") == "Never"
    assert shown(Switch("Yes", "No"), "off") == "No"
    assert shown(Secret(), "set") == "******"
    assert shown(Secret(), "blank") == ""
    assert shown(Text(), "as it is") == "as it is"
