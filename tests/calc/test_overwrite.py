"""The hour at which a ring overwrites, against a ring of recordings that really does."""

from __future__ import annotations

from collections import deque
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.days_kept import Band, Load, Room, around, days_kept
from asfound.calc.overwrite import Driving, overwritten, recorded, still_there, survival
from asfound.calc.strip import Span

HOUR, DAY = 3600.0, 86_400.0
MINUTES = 5.0


def ring(seed: int) -> tuple[float, float, Load, Room, list[Span], float, float]:
    """Files written one after the other; when the drive is full the oldest go. Returns when the
    file asked for was recorded and overwritten [s], the load by its band, the room, when the
    vehicle drove, hours a day and days a week."""
    random = np.random.default_rng(seed)
    hours, week = float(random.uniform(4, 16)), int(random.integers(4, 8))
    begin = float(random.uniform(0, 24 - hours))
    rate = float(random.uniform(4e6, 2e7))
    room = Room(float(random.uniform(0.3, 0.8)) * 1e12, 0.02, float(random.uniform(0, 40)) * 1e9)
    files, used = deque[tuple[float, float]](), 0.0
    driven: list[Span] = []
    asked, gone, at_day = -1.0, -1.0, int(random.integers(60, 90))
    for day in range(400):
        if day % 7 >= week:
            continue
        start = day * DAY + begin * HOUR
        driven.append(Span(start, start + hours * HOUR))
        at = start
        while at < start + hours * HOUR - 1:
            size = max(1.0, rate * float(random.normal(1, 0.15)) / 8 * MINUTES * 60)
            while used + size > room.usable_bytes:
                oldest, freed = files.popleft()
                used -= freed
                if oldest == asked:
                    gone = at
            files.append((at, size))
            used += size
            if asked < 0 and day >= at_day and at > start + hours * HOUR / 3:
                asked = at
            at += MINUTES * 60
        if gone >= 0:
            break
    assert gone > asked > 0, "the file asked for was never overwritten"
    return asked, gone, Load(around(rate, 0.2), hours), room, driven, hours, week


@pytest.mark.parametrize("seed", range(100, 112))
def test_the_hour_is_that_of_a_ring_that_really_overwrites(seed: int) -> None:
    asked, gone, load, room, driven, hours, week = ring(seed)
    kept = days_kept([load], room).times(hours)
    known = Span(driven[0].start, driven[-1].end)
    exact = overwritten(asked, kept, Driving(hours, week, tuple(driven), known))
    # By the log: within 2 % of the recording time that lies between.
    between = recorded(asked, gone, Driving(hours, week, tuple(driven), known)).likely
    assert kept.likely == pytest.approx(between, rel=0.02)
    # By the calendar: the same, and at most one pause of the vehicle, over which it may slip.
    pause = (24 - hours) * HOUR + (7 - week) * DAY
    assert abs(exact.likely - gone) <= 0.02 * (gone - asked) + pause
    assert exact.earliest <= gone <= exact.latest
    # Without one: the band holds it all the same.
    even = overwritten(asked, kept, Driving(hours, week))
    assert even.earliest <= gone <= even.latest
    for driving in (Driving(hours, week, tuple(driven), known), Driving(hours, week)):
        assert still_there(asked, asked + 60, kept, driving) == 1
        assert still_there(asked, even.latest + 60 * DAY, kept, driving) == 0


@pytest.mark.parametrize("seed", range(100, 112))
def test_around_the_clock_the_moment_itself_is_within_2_percent(seed: int) -> None:
    # No pauses: hours of recording are hours of the calendar.
    random = np.random.default_rng(seed)
    rate, size = 1e7, float(random.uniform(0.3, 0.8)) * 1e12
    files, used, at, gone = deque[tuple[float, float]](), 0.0, 0.0, 0.0
    asked = 40 * DAY
    while not gone:
        one = max(1.0, rate * float(random.normal(1, 0.15)) / 8 * 300)
        while used + one > size:
            oldest, freed = files.popleft()
            used -= freed
            gone = at if oldest >= asked else 0.0
        files.append((at, one))
        used += one
        at += 300
    kept = days_kept([Load(around(rate, 0.2), 24)], Room(size)).times(24)
    found = overwritten(asked, kept, Driving(24))
    assert found.likely - asked == pytest.approx(gone - asked, rel=0.02)
    assert found.earliest <= gone <= found.latest


def test_worked_by_hand() -> None:
    # 100 h of recording at 10 h each day: ten days on, each at the same hour.
    kept = Band(80, 100, 120)
    drive = tuple(Span(day * DAY, day * DAY + 10 * HOUR) for day in range(40))
    found = overwritten(0, kept, Driving(10, 7, drive, Span(0, 40 * DAY)))
    assert [found.earliest, found.likely, found.latest] == pytest.approx(
        [7 * DAY + 10 * HOUR, 9 * DAY + 10 * HOUR, 11 * DAY + 10 * HOUR], abs=1
    )
    # The triangular distribution's own (Evans, Hastings, Peacock: Statistical Distributions; from
    # memory): at the mode (c - a) / (b - a) lies below.
    assert survival(kept, 100) == 0.5
    assert survival(Band(0, 1, 4), 1) == 0.75
    assert survival(Band(5, 5, 5), 5) == 1 and survival(Band(5, 5, 5), 5.01) == 0


def test_a_sighting_is_stronger_than_the_sums() -> None:
    kept, driving = Band(80, 100, 120), Driving(24)
    at = 100 * HOUR
    assert still_there(0, at, kept, driving) == 0.5
    # P(H > 100 | H > 100) and P(H > 110 | H > 100) = 0.125 / 0.5, by hand.
    assert still_there(0, at, kept, driving, seen=at) == 1
    assert still_there(0, 110 * HOUR, kept, driving, seen=at) == pytest.approx(0.25)
    assert still_there(0, 130 * HOUR, kept, driving, seen=125 * HOUR) is None
    with pytest.raises(ValueError, match="nothing is recorded"):
        overwritten(0, kept, Driving(0))


BANDS = st.builds(
    lambda low, more, most: Band(low, low + more, low + more + most),
    st.floats(1, 500), st.floats(0, 300), st.floats(0, 300),
)  # fmt: skip


@st.composite
def drivings(draw: st.DrawFn) -> Driving:
    hours, week = draw(st.floats(0.5, 24)), draw(st.floats(0.5, 7))
    if draw(st.booleans()):
        return Driving(hours, week)
    days = draw(st.sets(st.integers(0, 60), min_size=1))
    driven = tuple(Span(day * DAY, day * DAY + hours * HOUR * 0.99) for day in sorted(days))
    return Driving(hours, week, driven, Span(driven[0].start, driven[-1].end))


AGES = st.floats(0, 90 * DAY)


@given(drivings(), BANDS, AGES, AGES, AGES)
def test_older_is_never_likelier_nor_overwritten_later(
    driving: Driving, kept: Band, now: float, one: float, other: float
) -> None:
    older, newer = sorted((one, other))
    there = [still_there(start, now, kept, driving) for start in (older, newer)]
    assert there[0] is not None and there[1] is not None
    assert 0 <= there[0] <= there[1] + 1e-9 <= 1 + 1e-9
    first, last = (overwritten(start, kept, driving) for start in (older, newer))
    for name in ("earliest", "likely", "latest"):
        assert getattr(first, name) <= getattr(last, name) + 1
    assert first.earliest <= first.likely + 1e-3 <= first.latest + 2e-3


@given(drivings(), BANDS, AGES, AGES, st.floats(1, 4))
def test_more_drive_is_never_less_and_later_never_likelier(
    driving: Driving, kept: Band, start: float, later: float, factor: float
) -> None:
    more = kept.times(factor)
    now = start + later
    small, large = (still_there(start, now, band, driving) for band in (kept, more))
    assert small is not None and large is not None and small <= large + 1e-9
    after = still_there(start, now + DAY, kept, driving)
    assert after is not None and after <= small + 1e-9
    first, last = (overwritten(start, band, driving) for band in (kept, more))
    for name in ("earliest", "likely", "latest"):
        assert getattr(first, name) <= getattr(last, name) + 1


@given(drivings(), BANDS, AGES, AGES)
def test_likelihood_and_hours_agree(
    driving: Driving, kept: Band, start: float, later: float
) -> None:
    hours = overwritten(start, kept, driving)
    there = still_there(start, start + later, kept, driving)
    if start + later < hours.earliest - 1:
        assert there == pytest.approx(1)
    if start + later > hours.latest + 1:
        assert there == pytest.approx(0, abs=1e-9)


@given(st.floats(0.5, 24), st.lists(st.integers(0, 6), min_size=1, max_size=7, unique=True),
       st.floats(0, 1), AGES, AGES)  # fmt: skip
def test_slack_covers_any_week_that_repeats(
    hours: float, days: list[int], begin: float, start: float, later: float
) -> None:
    # Driven on these days of every week for one block: counted by hand against an even flow.
    offset = begin * (24 - hours) * HOUR
    true = 0.0
    for day in range(-7, 200):
        if day % 7 in days:
            on = day * DAY + offset
            true += max(0.0, min(on + hours * HOUR, start + later) - max(on, start))
    band = recorded(start, start + later, Driving(hours, len(days)))
    assert band.low - 1e-6 <= true / HOUR <= band.high + 1e-6


def test_moments_go_on_with_hours() -> None:
    kept = [Band(hours, hours, hours) for hours in range(1, 60, 7)]
    found = [overwritten(0, band, Driving(9, 5)).likely for band in kept]
    assert all(one < other for one, other in pairwise(found))
