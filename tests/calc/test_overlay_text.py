"""Date and time in burned-in lines. Orders of date parts: ISO 8601 (year first) and those in common
use; 12 a.m. is midnight (common practice, no source)."""

from __future__ import annotations

from datetime import date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.overlay_text import moment_of, stamps

AT = datetime(2026, 3, 24, 15, 7, 9)
NOON_S, AT_S = 12 * 3600, 15 * 3600 + 7 * 60 + 9


@pytest.mark.parametrize(
    "text",
    [
        "2026-03-24 15:07:09", "2026/03/24  15:07:09 CAM 1", "24.03.2026 15:07:09",
        "03/24/2026 03:07:09 PM", "03:07:09PM 24-03-2026", "24 Mar 2026 15:07:09",
        "Mar 24 2026 3:07:09 p.m.", "2026-03-2415:07:09", "15:07:092026-03-24",
        "TUE 2026-03-24 15:07:09 ROAD", "03:07:09PN 24/03/2026", "2026-03-24 03:07:09PMCAM1",
    ],
)  # fmt: skip
def test_layouts_of_one_day_only(text: str) -> None:
    found = stamps(text)
    assert found is not None
    assert found.clock_s == AT_S and found.step_s == 1
    assert {day for _, day in found.days} == {AT.date()}


@pytest.mark.parametrize(
    ("text", "days"),
    [
        ("03/04/2026 12:00:00", {date(2026, 4, 3), date(2026, 3, 4)}),
        ("05/05/2026 12:00:00", {date(2026, 5, 5)}),
        ("26-03-04 12:00:00", {date(2026, 3, 4), date(2004, 3, 26)}),
        ("12:00:00", set()),
        ("31.02.2026 12:00:00", set()),
        ("2026-13-04 12:00:00", set()),
    ],
)
def test_every_way_to_read_a_date(text: str, days: set[date]) -> None:
    found = stamps(text)
    assert found is not None and found.clock_s == NOON_S
    assert {day for _, day in found.days} == days


@pytest.mark.parametrize(
    "text",
    [
        "",
        "CAM 1",
        "24:00:00",
        "12:61:00",
        "13:00:00 PM",
        "08:00:00 09:00:00",
        "1:2:3",
        "2026-03-24",
    ],
)
def test_no_time_or_more_than_one(text: str) -> None:
    assert stamps(text) is None


def test_halves_of_the_day() -> None:
    seconds = {text: found.clock_s for text in ("12:00:00 AM", "12:00:00 PM", "12:00:00 PARK")
               if (found := stamps(text)) is not None}  # fmt: skip
    assert seconds == {"12:00:00 AM": 0, "12:00:00 PM": NOON_S, "12:00:00 PARK": NOON_S}


def test_without_seconds_a_minute_is_all_that_is_known() -> None:
    found = stamps("2026-03-24 15:07")
    assert found is not None and found.step_s == 60 and found.clock_s == AT_S - 9


@given(st.datetimes(datetime(1970, 1, 1), datetime(2099, 12, 31)))
def test_a_line_filled_for_a_moment_reads_as_that_moment(at: datetime) -> None:
    for text, order in (
        ("2026-03-24 15:07:09 ROAD", "ymd"), ("03/24/2026 03:07:09 PM", "mdy"),
        ("24 Mar 2026 15:07:09", "dmy"), ("03:07:09pm 24.03.2026", "dmy"),
    ):  # fmt: skip
        line = stamps(text)
        assert line is not None
        again = stamps(line.at(at, order))
        assert again is not None
        assert again.by_order[order] == at.date()
        assert moment_of(again.clock_s, at.date()) == at.replace(microsecond=0)
