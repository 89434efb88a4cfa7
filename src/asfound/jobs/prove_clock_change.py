"""How far a burned-in clock jumps: both sides of the jump are read and held against rivals."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

from asfound.calc.overlay_clock import Course, near
from asfound.calc.overlay_text import moment_of
from asfound.jobs.prove_clock_digits import (
    DaysRead,
    best_reading,
    days_of,
    settled_by_samples,
)
from asfound.jobs.prove_clock_looks import Look
from asfound.model.burned_clock import DAY_S, BurnedClock, ClockState

UNSURE = "how far the burned-in clock jumps cannot be told for sure"


def with_change(
    clock: BurnedClock, looks: Sequence[Look], found: Course, read: DaysRead
) -> BurnedClock:
    """The clock with when it changes and, where it jumps, by how much; ``read``: its digits and
    day before the change."""
    if found.split is None or found.then is None:
        return clock
    before, after = looks[found.split - 1].second, looks[found.split].second
    clock = replace(clock, change_from_s=before, change_to_s=after)
    if found.state is not ClockState.JUMPS:
        return clock
    by = _jump(looks, found, _then(found), read)
    if by is None:
        return replace(clock, notes=(*clock.notes, UNSURE))
    return replace(clock, change_s=by)


def _then(found: Course) -> Course:
    """The course after the change, by itself."""
    low, high = found.then or (found.low, found.high)
    agree = tuple(number for number in found.agree if number >= (found.split or 0))
    return Course(ClockState.RUNS, low, high, agree)


def _jump(looks: Sequence[Look], found: Course, then: Course, read: DaysRead) -> float | None:
    """Seconds from what the clock would show without the jump to what it shows; None when a digit
    after the jump, or the order of two different days, is in doubt."""
    begun, whole = _begun(found)
    again, whole_then = _begun(then)
    after, rivals = best_reading(looks, then, days_of(looks, then, whole_then))
    for rival in rivals:
        if not settled_by_samples(looks, then, after, rival, enlarged=True)[0]:
            return None
    first = begun + whole + read.moved.total_seconds()
    second = again + whole_then + after.moved.total_seconds()
    days = dict(after.days)
    ways = {
        moment_of(near(second, DAY_S / 2), days[order]) - moment_of(near(first, DAY_S / 2), day)
        for order, day in read.days
        if order in days
    }
    if not ways:
        return near(second, first) - first
    return ways.pop() / timedelta(seconds=1) if len(ways) == 1 else None


def _begun(found: Course) -> tuple[float, float]:
    """What the clock showed at second 0 by this course [s], and whole days to its day."""
    middle = (found.low + found.high) / 2
    return middle, near(middle, DAY_S / 2) - middle
