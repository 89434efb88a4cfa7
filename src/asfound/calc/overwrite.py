"""When a drive that overwrites its oldest recordings reaches a recording, and how likely not yet.

A drive holds ``kept`` hours of recording. What was recorded at a moment is overwritten when so
many hours have been recorded after it:

    recorded(start, t) = kept                       solved for t
    P(there) = 1 - F(recorded(start, now))          F: triangular over the band of ``kept``

The triangle (least, likely, most) is an assumption: nothing but a band is known of the rates.
Hours between are counted from a log where there is one; elsewhere they run evenly, and lie off by
no more than ``slack_h`` as long as each driving day is like the others and each week, too:

    slack = h (1 - h / 24) + h d (1 - d / 7)        h hours a day on d days a week

(an even flow against one block of h hours a day, and d days in any places of a week; own
derivation). Seconds are those since 1970, hours are of recording.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from asfound.calc.coverage import Spans, overlap, total
from asfound.calc.days_kept import Band
from asfound.calc.strip import Span

DAY_H, WEEK_D, HOUR_S = 24.0, 7.0, 3600.0
STEPS = 100
"""Halvings; far below a second over any time that a drive keeps."""


@dataclass(frozen=True, slots=True)
class Driving:
    """Records ``hours_a_day`` [h] on ``days_a_week``; within ``known`` exactly on ``driven``."""

    hours_a_day: float
    days_a_week: float = WEEK_D
    driven: Spans = ()
    known: Span | None = None

    @property
    def rate(self) -> float:
        """Hours recorded in an hour of the calendar, on average."""
        return self.hours_a_day * self.days_a_week / (DAY_H * WEEK_D)

    @property
    def slack_h(self) -> float:
        """How far hours lie off those of an even flow at most."""
        hours, days = self.hours_a_day, self.days_a_week
        return hours * (1 - hours / DAY_H) + hours * days * (1 - days / WEEK_D)


@dataclass(frozen=True, slots=True)
class Moments:
    """When it is overwritten [s since 1970]."""

    earliest: float
    likely: float
    latest: float

    def within(self, least: float, most: float) -> Moments:
        """None of them before ``least`` or after ``most``; ``most`` decides."""
        each = (min(max(at, least), most) for at in (self.earliest, self.likely, self.latest))
        return Moments(*each)


def recorded(start: float, end: float, driving: Driving) -> Band:
    """Hours recorded from ``start`` to ``end``; none when ``end`` is not later."""
    if end <= start:
        return Band(0.0, 0.0, 0.0)
    asked, sure = Span(start, end), 0.0
    outside = (end - start) / HOUR_S
    if driving.known is not None:
        inside = overlap((asked,), (driving.known,))
        outside = max(0.0, outside - total(inside) / HOUR_S)
        sure = total(overlap(driving.driven, inside)) / HOUR_S
    even = outside * driving.rate
    # An evenly flowing total: nothing runs backwards, nor faster than the clock.
    low = max(0.0, even - driving.slack_h)
    high = max(even, min(outside, even + driving.slack_h))
    return Band(sure + low, sure + even, sure + high)


def overwritten(start: float, kept: Band, driving: Driving) -> Moments:
    """When what was recorded at ``start`` is overwritten. Raises ValueError when nothing is
    recorded."""
    if driving.rate <= 0:
        raise ValueError("nothing is recorded: no hours a day")

    def first(hours: float, side: Callable[[Band], float]) -> float:
        known = driving.known
        span = (hours + driving.slack_h + 1) / driving.rate * HOUR_S
        low, high = start, max(start, known.end if known else start) + span
        for _ in range(STEPS):
            middle = (low + high) / 2
            if side(recorded(start, middle, driving)) >= hours:
                high = middle
            else:
                low = middle
        return high

    return Moments(
        first(kept.low, lambda band: band.high),
        first(kept.likely, lambda band: band.likely),
        first(kept.high, lambda band: band.low),
    )


def still_there(
    start: float, now: float, kept: Band, driving: Driving, seen: float | None = None
) -> float | None:
    """How likely [0..1] what was recorded at ``start`` is there at ``now``; ``seen``: a moment at
    which it was there for certain. None: the band says that it was overwritten by then, so that
    nothing can be told by it.
    """
    if seen is not None and now <= seen:
        return 1.0
    age = recorded(start, now, driving)
    wide = Band(
        max(0.0, kept.low - (age.high - age.likely)),
        kept.likely,
        kept.high + (age.likely - age.low),
    )
    there = survival(wide, age.likely)
    if seen is None:
        return there
    before = survival(wide, recorded(start, seen, driving).likely)
    return there / before if before > 0 else None


def survival(kept: Band, hours: float) -> float:
    """Share of a triangular distribution over ``kept`` that lies above ``hours``."""
    low, mode, high = kept.low, kept.likely, kept.high
    if hours <= low:
        return 1.0
    if hours >= high:
        return 0.0
    if hours <= mode:
        return 1.0 - (hours - low) ** 2 / ((high - low) * (mode - low))
    return (high - hours) ** 2 / ((high - low) * (high - mode))
