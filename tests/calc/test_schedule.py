"""Weekly schedules: held against a grid of minutes, and against the days the clocks change."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asfound.calc.coverage import total
from asfound.calc.schedule import moment, scheduled
from asfound.calc.strip import Span
from asfound.model.coverage import Hours, Schedule

MADRID = ZoneInfo("Europe/Madrid")
NIGHTS = Schedule("Europe/Madrid", (Hours((0, 1, 2, 3, 4, 5, 6), 22 * 60, 6 * 60),))


def utc(text: str) -> float:
    return datetime.fromisoformat(text).replace(tzinfo=UTC).timestamp()


@pytest.mark.parametrize(
    ("from_", "to", "hours"),
    [
        # Directive 2000/84/EC: summer time from the last Sunday of March, 01:00 UTC, to the last
        # Sunday of October, 01:00 UTC. In 2026: 29 March and 25 October.
        ("2026-03-28 12:00", "2026-03-29 12:00", 7.0),
        ("2026-10-24 12:00", "2026-10-25 12:00", 9.0),
        ("2026-06-24 12:00", "2026-06-25 12:00", 8.0),
    ],
)
def test_a_night_is_shorter_or_longer_when_the_clocks_change(
    from_: str, to: str, hours: float
) -> None:
    made = scheduled(NIGHTS, MADRID, Span(utc(from_), utc(to)))
    assert len(made) == 1
    assert total(made) == hours * 3600


def test_clock_times_that_occur_twice_or_never() -> None:
    # RFC 5545 section 3.3.5: twice -> the first (summer time, UTC+2); never -> the offset from
    # before the change (UTC+1).
    assert moment(date(2026, 10, 25), 150, MADRID) == utc("2026-10-25 00:30")
    assert moment(date(2026, 3, 29), 150, MADRID) == utc("2026-03-29 01:30")
    assert moment(date(2026, 3, 29), 1440, MADRID) == utc("2026-03-29 22:00")


def test_days_off_and_whole_days() -> None:
    whole = Hours((0, 1, 2, 3, 4), 0, 1440)
    week = Span(utc("2026-06-07 22:00"), utc("2026-06-14 22:00"))  # Monday to Sunday, local
    assert total(scheduled(Schedule("Europe/Madrid", (whole,)), MADRID, week)) == 5 * 86400
    off = Schedule("Europe/Madrid", (whole,), (date(2026, 6, 10),))
    assert total(scheduled(off, MADRID, week)) == 4 * 86400


# Zones far from UTC both ways, one with an offset of 45 minutes, and one whose summer time
# moves by 30 minutes (IANA time zone database).
ZONES = ("Europe/Madrid", "Pacific/Auckland", "Asia/Kathmandu", "Australia/Lord_Howe",
         "America/St_Johns", "UTC")  # fmt: skip
STEP = 15 * 60


@settings(max_examples=40)
@given(
    st.sampled_from(ZONES),
    st.lists(
        st.builds(
            Hours,
            st.lists(st.integers(0, 6), min_size=1, max_size=7, unique=True).map(tuple),
            st.integers(0, 95).map(lambda n: n * 15),
            st.integers(1, 96).map(lambda n: n * 15),
        ),
        min_size=1,
        max_size=3,
    ),
    st.datetimes(datetime(2026, 1, 1), datetime(2026, 12, 20)),
)
def test_the_same_as_a_clock_on_the_wall(zone: str, hours: list[Hours], start: datetime) -> None:
    local = ZoneInfo(zone)
    begin = start.replace(minute=0, second=0, microsecond=0, tzinfo=UTC).timestamp()
    within = Span(begin, begin + 5 * 86400)
    made = scheduled(Schedule(zone, tuple(hours)), local, within)
    at = begin
    while at < within.end:
        held = any(span.start <= at < span.end for span in made)
        if not near_change(at, local):
            assert held == on_the_wall(at, local, hours), datetime.fromtimestamp(at, local)
        at += STEP


def on_the_wall(at: float, local: ZoneInfo, hours: list[Hours]) -> bool:
    """What somebody reads off a clock: day of the week and minutes since midnight."""
    wall = datetime.fromtimestamp(at, local)
    minute, day = wall.hour * 60 + wall.minute, wall.weekday()
    for item in hours:
        if item.end > item.start:
            if day in item.days and item.start <= minute < item.end:
                return True
        elif (day in item.days and minute >= item.start) or (
            (day - 1) % 7 in item.days and minute < item.end
        ):
            return True
    return False


def near_change(at: float, local: ZoneInfo) -> bool:
    """Within 3 h of a change of the clocks, where the wall repeats or skips times."""
    before, after = (
        (datetime.fromtimestamp(at, UTC) + timedelta(hours=h)).astimezone(local).utcoffset()
        for h in (-3, 3)
    )
    return before != after
