"""Clocks on the screen and zone settings. Expected values by the standard library's strptime and
by ISO 8601's notation of offsets."""

from __future__ import annotations

from datetime import date, datetime, time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.shown_clock import parse_clock, zone_seconds
from asfound.model.kinds import DateLayout

FORMATS: dict[DateLayout, str] = {
    "YYYY-MM-DD": "%Y-%m-%d", "DD.MM.YYYY": "%d.%m.%Y", "DD/MM/YYYY": "%d/%m/%Y",
    "MM/DD/YYYY": "%m/%d/%Y",
}  # fmt: skip


@given(st.datetimes(datetime(2000, 1, 1), datetime(2099, 12, 31)), st.sampled_from(list(FORMATS)))
def test_what_strftime_writes_is_read(moment: datetime, layout: DateLayout) -> None:
    text = moment.strftime(f"{FORMATS[layout]} %H:%M:%S")
    found = parse_clock(text, (layout,))
    assert found is not None and found.step_s == 1.0
    assert found.moment == datetime.strptime(text, f"{FORMATS[layout]} %H:%M:%S")
    short = parse_clock(moment.strftime("%H:%M"), (layout,))
    assert short is not None and short.step_s == 60.0
    assert short.moment == time(moment.hour, moment.minute)
    half = parse_clock(moment.strftime("%a %I:%M:%S %p"))
    assert half is not None and half.at == moment.time().replace(microsecond=0)


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("03/04/2026 10:00:00", None),  # the 3rd of April or the 4th of March: not told
        ("30/04/2026 10:00:00", date(2026, 4, 30)),
        ("2026-13-01 10:00:00", None),
        ("17-Mar-26 10:00:00", None),
    ],
)
def test_a_day_is_read_only_when_it_is_certain(text: str, day: date | None) -> None:
    found = parse_clock(text)
    assert found is not None and found.day == day and found.at == time(10)


@pytest.mark.parametrize(
    "text", ["", "10", "25:00", "10:61", "10:00 11:00", "00:00 PM", "2026-03-17T10:00:00+01:00"]
)
def test_what_is_not_one_time_of_day_is_none(text: str) -> None:
    assert parse_clock(text) is None


@pytest.mark.parametrize(
    ("text", "hours"),
    [
        ("UTC", 0), ("GMT", 0), ("0:00", 0), ("+1:00", 1), ("-1:00", -1), ("UTC+4", 4),
        ("UTC-2", -2), ("GMT +05:30", 5.5), ("+0545", 5.75), ("UTC−3", -3), ("+14:00", 14),
        ("1:00", None), ("Madrid", None), ("EU rule", None), ("+15:00", None), ("", None),
        ("UTC+1/UTC+2", None),
    ],
)  # fmt: skip
def test_zone_settings(text: str, hours: float | None) -> None:
    assert zone_seconds(text) == (None if hours is None else hours * 3600)
