"""The grammars of values held against the standard library and the standards themselves.

Addresses: ``ipaddress`` (dotted quad, RFC 3986 section 3.2.2 dec-octet and RFC 6943 section
3.1.1: no leading zeros, no other notations). Dates and times: ``datetime`` (ISO 8601 calendar).
Numbers: ``decimal``.
"""

from __future__ import annotations

import ipaddress
import re
from datetime import date, datetime, time
from decimal import Decimal
from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.parse_value import Parsed, parse_value
from asfound.model.kinds import Date, IPv4, Number, Time

DEC_OCTET = r"(?:25[0-5]|2[0-4][0-9]|1[0-9]{2}|[1-9][0-9]|[0-9])"
"""RFC 3986, appendix A: dec-octet."""

NEARLY_ADDRESSES = st.one_of(
    st.lists(st.integers(0, 400).map(str), min_size=3, max_size=5).map(".".join),
    st.lists(st.from_regex(r"[0-9]{1,4}", fullmatch=True), min_size=4, max_size=4).map(".".join),
    st.text("0123456789.x", max_size=16),
)


@given(NEARLY_ADDRESSES)
def test_an_address_is_what_the_standards_call_one(text: str) -> None:
    try:
        wanted: str | None = str(ipaddress.IPv4Address(text))
    except ValueError:
        wanted = None
    assert (wanted is not None) == bool(re.fullmatch(rf"{DEC_OCTET}(?:\.{DEC_OCTET}){{3}}", text))
    if wanted and not in_use(ipaddress.IPv4Address(wanted)):
        assert parse_value(IPv4(), text) == Parsed(None, (wanted,))
    else:
        assert parse_value(IPv4(), text).value == wanted


def in_use(address: ipaddress.IPv4Address) -> bool:
    """Not of the blocks 240.0.0.0/4 (RFC 1112, section 4) and 0.0.0.0/8 (RFC 6890, table 1), or a
    network mask, or no address at all."""
    if not address.is_reserved and address not in ipaddress.IPv4Network("0.0.0.0/8"):
        return True
    if address.is_unspecified:
        return True
    try:
        return ipaddress.IPv4Network(f"0.0.0.0/{address}").netmask == address
    except ValueError:
        return False


@given(st.integers(4, 32))
def test_every_network_mask_is_read(length: int) -> None:
    mask = str(ipaddress.IPv4Network(f"0.0.0.0/{length}").netmask)
    assert parse_value(IPv4(), mask).value == mask


@pytest.mark.parametrize(
    "text", ["255.5.255.0", "255.255.0.255", "255.255.255.1", "241.0.0.1", "0.0.60.0"]
)
def test_an_address_that_nobody_can_have_is_a_doubt(text: str) -> None:
    assert parse_value(IPv4(), text) == Parsed(None, (text,))


@given(st.ip_addresses(v=4))
def test_padded_addresses_name_the_same_address(address: ipaddress.IPv4Address) -> None:
    padded = ".".join(f"{part:03}" for part in address.packed)
    wanted = str(address) if in_use(address) else None
    assert parse_value(IPv4(padded=True), padded).value == wanted
    wide = padded != str(address)
    assert not wide or parse_value(IPv4(), padded).value is None


@given(st.times())
def test_every_time_of_day_is_read(moment: time) -> None:
    assert parse_value(Time(), f"{moment:%H:%M}").value == f"{moment:%H:%M}"
    assert parse_value(Time(seconds=True), f"{moment:%H:%M:%S}").value == f"{moment:%H:%M:%S}"


@given(st.from_regex(r"[0-9]{1,2}:[0-9]{1,2}(:[0-9]{1,2})?", fullmatch=True))
def test_a_time_is_what_datetime_reads(text: str) -> None:
    """ISO 8601 wants two figures each; strptime is more lenient there. Hour 24 is no time of
    day since ISO 8601-1:2019, nor for strptime; second 60 is left to leap seconds."""
    for kind, layout, parts in ((Time(), "%H:%M", 2), (Time(seconds=True), "%H:%M:%S", 3)):
        try:
            wanted: str | None = datetime.strptime(text, layout).strftime(layout)
        except ValueError:
            wanted = None
        if [len(part) for part in text.split(":")] != [2] * parts:
            wanted = None
        assert parse_value(kind, text).value == wanted


Layout = Literal["YYYY-MM-DD", "DD/MM/YYYY", "MM/DD/YYYY"]
LAYOUTS: dict[Layout, str] = {
    "YYYY-MM-DD": "%Y-%m-%d",
    "DD/MM/YYYY": "%d/%m/%Y",
    "MM/DD/YYYY": "%m/%d/%Y",
}


@pytest.mark.parametrize("layout", LAYOUTS)
@given(
    year=st.integers(1990, 2099), month=st.integers(0, 14), day=st.integers(0, 33)
)  # fmt: skip
def test_a_date_is_what_the_calendar_has(layout: Layout, year: int, month: int, day: int) -> None:
    text = layout.replace("YYYY", f"{year:04}").replace("MM", f"{month:02}")
    text = text.replace("DD", f"{day:02}")
    try:
        wanted: str | None = datetime.strptime(text, LAYOUTS[layout]).date().isoformat()
    except ValueError:
        wanted = None
    assert parse_value(Date(layout=layout), text).value == wanted


@given(st.dates(min_value=date(1990, 1, 1), max_value=date(2099, 12, 31)))
def test_days_and_months_are_never_exchanged(day: date) -> None:
    text = day.strftime("%d/%m/%Y")
    assert parse_value(Date(layout="DD/MM/YYYY"), text).value == day.isoformat()


@given(
    st.decimals(-500, 500, places=2), st.integers(0, 3), st.sampled_from(["", "kbit/s", "g", "%"])
)  # fmt: skip
def test_a_number_is_the_decimal_that_is_written(number: Decimal, places: int, unit: str) -> None:
    kind = Number(Decimal(-400), Decimal(400), decimals=places, unit=unit)
    shown = f"{number:.{places}f}"
    written = f"{shown} {unit}".strip()
    got = parse_value(kind, written).value
    if Decimal(shown).is_zero() and shown.startswith("-"):
        return  # minus nought: whether it is a value at all is a matter of taste
    if abs(Decimal(shown)) <= 400 and kind_steps(kind, Decimal(shown)):
        assert got is not None and Decimal(got) == Decimal(shown)
        assert Decimal(got).as_tuple().exponent == -places
    else:
        assert got is None


def kind_steps(kind: Number, value: Decimal) -> bool:
    """On a step from the least value on."""
    return (value - kind.minimum) % kind.step == 0


@given(st.from_regex(r"[0-9]{1,3}([.,][0-9]{0,3})?[0-9.,]{0,2}", fullmatch=True))
def test_nothing_but_one_number_is_a_number(text: str) -> None:
    """Two points, a bare point, other decimals than the recorder shows: asked about."""
    kind = Number(Decimal(0), Decimal(999), step=Decimal("0.1"), decimals=1)
    plain = bool(re.fullmatch(r"[0-9]+[.,][0-9]", text))
    got = parse_value(kind, text).value
    assert got is None or (plain and Decimal(got) == Decimal(text.replace(",", ".")))
    assert not plain or got is not None
