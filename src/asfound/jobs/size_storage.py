"""How long a drive keeps what is recorded, against what was promised and what the law allows."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from asfound.calc.days_kept import (
    Band,
    Load,
    Room,
    around,
    bytes_a_day,
    days_kept,
    drive_for,
    rate_share_for,
)
from asfound.errors import UsageError
from asfound.units import HOUR_S, above_text, below_text

DAYS_A_WEEK = 7.0


class DaysFault(StrEnum):
    """What is wrong with the days that are kept."""

    TOO_FEW = "too-few-days"
    MAY_BE_TOO_FEW = "may-be-too-few-days"
    TOO_MANY = "more-days-than-lawful"
    RESERVE_TOO_SMALL = "event-reserve-too-small"
    EVENTS_TOO_LONG = "events-kept-longer-than-lawful"
    CONTRADICTION = "promised-more-than-lawful"


@dataclass(frozen=True, slots=True)
class DaysFinding:
    """``measured`` against ``limit`` [days], and what a person would say."""

    kind: DaysFault
    measured: float
    limit: float
    note: str


@dataclass(frozen=True, slots=True)
class Events:
    """``a_day`` of them, each ``seconds`` [s] long with what comes before and after it."""

    a_day: float
    seconds: float


@dataclass(frozen=True, slots=True)
class SizeStorage:
    """``promised_days``: at least so many were promised; ``lawful_days``: older ones have to be
    deleted (None: nothing was said); days of the calendar, of which the vehicle records on
    ``days_a_week``. ``events`` fill the room's reserve (None: not known)."""

    loads: tuple[Load, ...]
    room: Room
    promised_days: float | None = None
    lawful_days: float | None = None
    days_a_week: float = 7.0
    events: Events | None = None


@dataclass(frozen=True, slots=True)
class Storage:
    """Bytes written on a day of recording, days of the calendar kept, and for the promised days:
    the drive [bytes, as its label says] and the share of the picture rates [1] that keep them
    (None: nothing was promised). ``event_days``: how many days' events the reserve holds (None: no
    events were named)."""

    usable_bytes: float
    bytes_a_day: Band
    days: Band
    drive_bytes: Band | None
    rate_share: Band | None
    event_days: Band | None
    findings: tuple[DaysFinding, ...]


def size_storage(request: SizeStorage) -> Storage:
    """The sums. Raises UsageError when next to nothing is written."""
    loads, room, promised = request.loads, request.room, request.promised_days
    calendar = DAYS_A_WEEK / request.days_a_week
    try:
        days = days_kept(loads, room).times(calendar)
        share = None if promised is None else rate_share_for(loads, promised / calendar, room)
    except ValueError as error:
        raise UsageError(f"{error}; give channels, hours a day and rates above 0") from None
    kept = _event_days(request)
    return Storage(
        room.usable_bytes,
        bytes_a_day(loads),
        days,
        None if promised is None else drive_for(loads, promised / calendar, room),
        share,
        kept,
        (*_findings(days, promised, request.lawful_days), *_of_events(kept, request)),
    )


def _event_days(request: SizeStorage) -> Band | None:
    """Days of the calendar whose events the reserve holds."""
    events = request.events
    if events is None or events.a_day * events.seconds <= 0:
        return None
    always = tuple(replace(load, hours_a_day=events.seconds / HOUR_S) for load in request.loads)
    each = bytes_a_day(always)
    a_day = each.times(events.a_day * request.days_a_week / DAYS_A_WEEK)
    reserve = request.room.reserve_bytes
    return Band(reserve / a_day.high, reserve / a_day.likely, reserve / a_day.low)


def _of_events(kept: Band | None, request: SizeStorage) -> list[DaysFinding]:
    if kept is None:
        return []
    found = []
    promised, lawful = request.promised_days, request.lawful_days
    if promised is not None and kept.low < promised:
        kept_low = below_text(kept.low, promised)
        note = (
            f"the event reserve fills within {kept_low} to {kept.high:.0f} days, {promised:g} "
            "were promised; later events find no room"
        )
        found.append(DaysFinding(DaysFault.RESERVE_TOO_SMALL, kept.low, promised, note))
    if lawful is not None and kept.high > lawful:
        kept_high = above_text(kept.high, lawful)
        note = (
            f"events stay for up to {kept_high} days, as nothing overwrites "
            f"them; delete them after {lawful:g}"
        )
        found.append(DaysFinding(DaysFault.EVENTS_TOO_LONG, kept.high, lawful, note))
    return found


def _findings(days: Band, promised: float | None, lawful: float | None) -> list[DaysFinding]:
    found = []
    if promised is not None and days.high < promised:
        days_high = below_text(days.high, promised)
        note = f"{days.low:.0f} to {days_high} days are kept, {promised:g} were promised"
        found.append(DaysFinding(DaysFault.TOO_FEW, days.high, promised, note))
    elif promised is not None and days.low < promised:
        days_low = below_text(days.low, promised)
        note = f"in bad weeks {days_low} days are kept, {promised:g} were promised"
        found.append(DaysFinding(DaysFault.MAY_BE_TOO_FEW, days.low, promised, note))
    if lawful is not None and days.high > lawful:
        days_high = above_text(days.high, lawful)
        note = f"up to {days_high} days are kept; set the recorder to delete after {lawful:g}"
        found.append(DaysFinding(DaysFault.TOO_MANY, days.high, lawful, note))
    if promised is not None and lawful is not None and promised > lawful:
        note = f"{promised:g} days were promised, more than {lawful:g} are not allowed"
        found.append(DaysFinding(DaysFault.CONTRADICTION, promised, lawful, note))
    return found


@dataclass(frozen=True, slots=True)
class Measured:
    """One recording of a channel: how long [s], and bits a second with everything in it."""

    channel: int
    seconds: float
    bits_per_second: float


ENOUGH = 10
"""Recordings of a channel that show how its rate changes (own choice)."""


def measured_loads(
    recordings: Sequence[Measured], hours_a_day: float, spread: float
) -> tuple[Load, ...]:
    """A load for each channel: its recordings' rate on average, from the least to the most, and
    by ``spread`` [1] either way at least where they are fewer than ENOUGH.

    What is measured has sound in it where there is any.
    """
    by_channel: dict[int, list[Measured]] = defaultdict(list)
    for one in recordings:
        by_channel[one.channel].append(one)
    loads = []
    for _, several in sorted(by_channel.items()):
        rates = [one.bits_per_second for one in several]
        total = sum(one.seconds for one in several)
        mean = sum(one.bits_per_second * one.seconds for one in several) / total
        # Rounding may put the mean of equal rates just outside of them.
        mean = min(max(mean, min(rates)), max(rates))
        few = around(mean, spread) if len(several) < ENOUGH else Band(mean, mean, mean)
        band = Band(min(few.low, *rates), mean, max(few.high, *rates))
        loads.append(Load(band, hours_a_day))
    return tuple(loads)
