"""A weekly schedule in local time as stretches of real time.

Clock times that a change to or from daylight saving time skips or repeats are taken as RFC 5545,
section 3.3.5 (2009) has it: one that occurs twice is the first of the two, one that does not
occur is read with the offset from before the change.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from asfound.calc.coverage import Spans, overlap, union
from asfound.calc.strip import Span
from asfound.model.coverage import Schedule

DAY = timedelta(days=1)
MINUTES_A_DAY = 1440


def moment(day: date, minute: int, zone: ZoneInfo) -> float:
    """Seconds since 1970 of a local clock time: ``minute`` after midnight, 1440 = next midnight."""
    days, rest = divmod(minute, MINUTES_A_DAY)
    clock = datetime.combine(day + days * DAY, time(rest // 60, rest % 60), tzinfo=zone)
    # fold=0 is the first of two and the offset before a jump (PEP 495), as RFC 5545 wants it.
    return clock.timestamp()


def scheduled(schedule: Schedule, zone: ZoneInfo, within: Span) -> Spans:
    """The expected stretches inside ``within`` [s since 1970]; ``zone`` is the schedule's."""
    return overlap(union(_stretches(schedule, zone, within)), (within,))


def _stretches(schedule: Schedule, zone: ZoneInfo, within: Span) -> Iterator[Span]:
    off = frozenset(schedule.off)
    # A night's hours start the day before, and local days reach 14 h beyond those of UTC.
    day = datetime.fromtimestamp(within.start, UTC).date() - 2 * DAY
    last = datetime.fromtimestamp(within.end, UTC).date() + DAY
    while day <= last:
        for hours in schedule.hours:
            if day.weekday() in hours.days and day not in off:
                end = hours.end + (MINUTES_A_DAY if hours.end <= hours.start else 0)
                yield Span(moment(day, hours.start, zone), moment(day, end, zone))
        day += DAY
