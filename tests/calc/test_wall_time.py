"""Wall clocks in summer and winter.

Source: Directive 2000/84/EC, articles 2 and 3: summer time begins at 01:00 UTC on the last Sunday
of March and ends at 01:00 UTC on the last Sunday of October (in 2026 the 29th and the 25th); the
United Kingdom keeps the same dates (Summer Time Order 2002). Moments in UTC follow by hand.
"""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.wall_time import comes_twice, moment

LONDON, MADRID = ZoneInfo("Europe/London"), ZoneInfo("Europe/Madrid")


@pytest.mark.parametrize(
    ("zone", "wall", "fold", "utc"),
    [
        (LONDON, datetime(2026, 10, 25, 1, 30), 0, datetime(2026, 10, 25, 0, 30, tzinfo=UTC)),
        (LONDON, datetime(2026, 10, 25, 1, 30), 1, datetime(2026, 10, 25, 1, 30, tzinfo=UTC)),
        (MADRID, datetime(2026, 10, 25, 2, 30), 0, datetime(2026, 10, 25, 0, 30, tzinfo=UTC)),
        (MADRID, datetime(2026, 10, 25, 2, 30), 1, datetime(2026, 10, 25, 1, 30, tzinfo=UTC)),
        (LONDON, datetime(2026, 7, 1, 8), 0, datetime(2026, 7, 1, 7, tzinfo=UTC)),
        (LONDON, datetime(2026, 7, 1, 8), 1, datetime(2026, 7, 1, 7, tzinfo=UTC)),
    ],
)
def test_an_hour_that_comes_twice(zone: ZoneInfo, wall: datetime, fold: int, utc: datetime) -> None:
    assert moment(wall, zone, fold) == utc
    assert comes_twice(utc, zone) == (wall.month == 10)


@pytest.mark.parametrize("fold", [0, 1])
@pytest.mark.parametrize(
    ("zone", "wall"),
    [(LONDON, datetime(2026, 3, 29, 1, 30)), (MADRID, datetime(2026, 3, 29, 2, 0))],
)
def test_an_hour_that_was_left_out(zone: ZoneInfo, wall: datetime, fold: int) -> None:
    with pytest.raises(ValueError, match="put forward"):
        moment(wall, zone, fold)


def test_beyond_the_calendar() -> None:
    with pytest.raises(ValueError, match="calendar"):
        moment(datetime(9999, 12, 31, 23, 59), ZoneInfo("America/New_York"))


@given(
    st.datetimes(datetime(2000, 1, 1), datetime(2099, 1, 1)),
    st.sampled_from(["Europe/London", "Australia/Lord_Howe", "Asia/Kathmandu", "America/St_Johns"]),
)
def test_every_moment_is_found_again(at: datetime, name: str) -> None:
    zone, there = ZoneInfo(name), at.replace(tzinfo=UTC)
    here = there.astimezone(zone)
    assert moment(here.replace(tzinfo=None, fold=0), zone, here.fold) == there
    both = {moment(here.replace(tzinfo=None, fold=0), zone, fold) for fold in (0, 1)}
    assert (len(both) == 2) == comes_twice(there, zone)
