"""When a zone's clocks change in a year, and what another setting shows instead.

Pure work on UTC offsets; whose rules they are is up to the caller. Offsets in seconds east of UTC.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, tzinfo
from itertools import pairwise

Offset = Callable[[datetime], float]
"""UTC offset [s] at an aware moment."""

LOOK = timedelta(hours=6)
"""Changes lie further apart than this (IANA tz database: weeks)."""


@dataclass(frozen=True, slots=True)
class Change:
    """At ``at`` (UTC) the offset goes from ``before_s`` to ``after_s`` [s]."""

    at: datetime
    before_s: float
    after_s: float

    @property
    def forward(self) -> bool:
        """Whether local hours are missing; else they come twice."""
        return self.after_s > self.before_s

    @property
    def local(self) -> tuple[datetime, datetime]:
        """The local span, naive, that is missing or comes twice: from, to."""
        low, high = sorted((self.before_s, self.after_s))
        naive = self.at.replace(tzinfo=None)
        return naive + timedelta(seconds=low), naive + timedelta(seconds=high)


@dataclass(frozen=True, slots=True)
class WrongSpan:
    """From ``start`` to ``end`` (UTC) the recorder shows ``error_s`` [s] too much (recorder minus
    true)."""

    start: datetime
    end: datetime
    error_s: float

    @property
    def hours(self) -> float:
        """How long it is."""
        return (self.end - self.start).total_seconds() / 3600


def zone_offset(zone: tzinfo) -> Offset:
    """A zone's offset."""

    def offset(at: datetime) -> float:
        return (at.astimezone(zone).utcoffset() or timedelta()).total_seconds()

    return offset


def rule_elsewhere(base_s: float, rule: tzinfo) -> Offset:
    """A clock ``base_s`` [s] ahead of UTC that puts itself forward when clocks of ``rule`` do that
    at the same standard time on the wall: a recorder that only knows "daylight saving: on"."""

    def offset(at: datetime) -> float:
        wall = at + timedelta(seconds=base_s)
        here = at.astimezone(rule)
        standard = (here.utcoffset() or timedelta()) - (here.dst() or timedelta())
        there = (wall - standard).astimezone(rule)
        return base_s + (there.dst() or timedelta()).total_seconds()

    return offset


def changes(offset: Offset, start: datetime, end: datetime) -> tuple[Change, ...]:
    """Every change from ``start`` to ``end`` (aware), to the second."""
    made, at = [], start
    before = offset(at)
    while at < end:
        later = min(at + LOOK, end)
        after = offset(later)
        if after != before:
            low, high = at, later
            while high - low > timedelta(seconds=1):
                middle = low + timedelta(seconds=int((high - low).total_seconds()) // 2)
                if offset(middle) == before:
                    low = middle
                else:
                    high = middle
            made.append(Change(high, before, after))
        at, before = later, after
    return tuple(made)


def wrong_spans(
    shown: Offset, true: Offset, start: datetime, end: datetime
) -> tuple[WrongSpan, ...]:
    """Every span from ``start`` to ``end`` in which ``shown`` is not ``true``."""
    edges = {start, end}
    edges |= {change.at for each in (shown, true) for change in changes(each, start, end)}
    made: list[WrongSpan] = []
    times = sorted(edges)
    for first, last in pairwise(times):
        error = shown(first) - true(first)
        if made and made[-1].error_s == error and made[-1].end == first:
            made[-1] = WrongSpan(made[-1].start, last, error)
        elif error:
            made.append(WrongSpan(first, last, error))
    return tuple(made)


def year_span(year: int, offset: Offset) -> tuple[datetime, datetime]:
    """From New Year to New Year by the clock on the wall, UTC."""
    ends: Sequence[datetime] = [datetime(each, 1, 1, tzinfo=UTC) for each in (year, year + 1)]
    first, last = (each - timedelta(seconds=offset(each)) for each in ends)
    return first, last
