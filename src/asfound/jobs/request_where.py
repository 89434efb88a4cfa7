"""Where requested footage should be, how likely it is still there, and until which hour."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta

from asfound.calc.coverage import union
from asfound.calc.drive_names import same_serial
from asfound.calc.overwrite import Driving, Moments, overwritten, recorded, still_there
from asfound.calc.strip import Span
from asfound.errors import UsageError
from asfound.jobs.drive_known import REGISTER, DriveNow
from asfound.jobs.kept_hours import Kept
from asfound.jobs.request_known import Swap
from asfound.model.coverage import ChannelCoverage, IgnitionLog
from asfound.model.footage_request import FootageRequest, RequestState
from asfound.model.visit import CoverageTaken

FAR = datetime(2200, 1, 1, tzinfo=UTC)
"""Nothing is dated later: a vehicle that hardly drives keeps its footage for ages."""


@dataclass(frozen=True, slots=True)
class Where:
    """What is known of the vehicle: ``serial`` of the drive fitted now ("" = not known), hours
    that a drive ``kept`` (or why that is not known), ``days_a_week`` on which it drives, its
    ignition ``log``, hours counted on disk, drives swapped, oldest first, and all ``drives`` that
    the register knows, by normalised serial number."""

    serial: str
    kept: Kept | str
    days_a_week: float = 7.0
    log: IgnitionLog | None = None
    coverage: tuple[CoverageTaken, ...] = ()
    swaps: tuple[Swap, ...] = ()
    drives: Mapping[str, DriveNow] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Located:
    """The answer to ``request`` at ``now``.

    ``drive``: serial of the drive that it should be on ("" = not known), ``fitted``: that drive
    is in the vehicle. ``likely_there`` [0..1] for all of the span, None: cannot be told.
    ``begins``: earliest, likely and latest time at which the span's first second is overwritten,
    ``ends``: its last; None: nothing overwrites it, or it cannot be told. ``recorder``: the span by
    the recorder's own clock. ``notes``: what this rests on, a line each. ``place``: where that
    drive is now by the register, in words ("" = it does not know).
    """

    request: FootageRequest
    now: datetime
    drive: str
    fitted: bool
    likely_there: float | None
    begins: tuple[datetime, datetime, datetime] | None
    ends: tuple[datetime, datetime, datetime] | None
    recorder: tuple[datetime, datetime]
    notes: tuple[str, ...] = ()
    place: str = ""


def locate(request: FootageRequest, where: Where, now: datetime) -> Located:
    """The sums of ``calc/overwrite.py`` for one request, then what visits saw for certain, on the
    drive that register or fleet file name."""
    found = _located(request, where, now)
    known = where.drives.get(same_serial(found.drive))
    return found if known is None else replace(found, place=known.place)


def _located(request: FootageRequest, where: Where, now: datetime) -> Located:
    ahead = timedelta(seconds=request.clock_ahead_s)
    span = (request.start + ahead, request.end + ahead)
    notes = []
    if request.clock_ahead_s:
        notes.append(
            f"the recorder's clock was {abs(request.clock_ahead_s):g} s "
            f"{'ahead' if request.clock_ahead_s > 0 else 'behind'}: look for the span "
            "by its stamps, which the times for the recorder already allow for"
        )
    swap = next((one for one in where.swaps if one.at >= request.start), None)
    if swap is not None:
        return _elsewhere(request, where, now, swap, span, notes)
    kept = where.kept
    if isinstance(kept, str):
        notes.append(kept)
        there = _seen_gone(request, where.coverage)
        return Located(request, now, where.serial, True, there, None, None, span, tuple(notes))
    notes.append(_source(kept))
    driving = driving_of(kept, where, notes)
    begins, ends = (_moments(at, kept, driving) for at in (request.start, request.end))
    there, seen = _there(request, now, where, kept, driving, notes)
    if seen is not None and begins is not None and ends is not None:
        begins, ends = (_not_before(each, seen) for each in (begins, ends))
    if kept.stops:
        notes.append(
            "the recorder stops when its drive is full: nothing is overwritten, and newer footage "
            "may never have been recorded"
        )
        begins = ends = None
    return Located(
        request, now, where.serial, True, there, begins, ends, span, tuple(notes)
    )  # fmt: skip


def in_order(located: Sequence[Located]) -> tuple[Located, ...]:
    """Open requests by the hour at which their footage may be gone, earliest first; then those
    without such an hour, then those that are answered or closed."""

    def rank(one: Located) -> tuple[int, datetime, datetime]:
        waits = one.request.state is not RequestState.OPEN
        gone = one.likely_there == 0
        first = one.begins[0] if one.begins and not gone else FAR
        return (2 if waits else 1 if gone else 0, first, one.request.at)

    return tuple(sorted(located, key=rank))


def driving_of(kept: Kept, where: Where, notes: list[str]) -> Driving:
    """The driving pattern; adds to ``notes`` what it rests on. Raises UsageError."""
    days = 7.0 if kept.hours_a_day >= 24 else where.days_a_week
    if where.log is None or not where.log.driven:
        notes.append(
            f"it is taken to record {kept.hours_a_day:.3g} h on {days:g} days a week, each like "
            "the others; an ignition log makes the hours narrower"
        )
        return Driving(kept.hours_a_day, days)
    driven = union(Span(one.start.timestamp(), one.end.timestamp()) for one in where.log.driven)
    notes.extend(where.log.notes)
    notes.append("hours until the log's end are its own; later ones are taken as before")
    known = Span(driven[0].start, driven[-1].end)
    return Driving(kept.hours_a_day, days, driven, known)


def _elsewhere(
    request: FootageRequest,
    where: Where,
    now: datetime,
    swap: Swap,
    span: tuple[datetime, datetime],
    notes: list[str],
) -> Located:
    """A drive was swapped or formatted since: on the one that came out, or nowhere."""
    day = _day(swap.at)
    if request.end > swap.at:
        notes.append("part of the span was recorded after that, on the drive fitted then")
    known = where.drives.get(same_serial(swap.serial))
    if known is not None and known.wiped is not None and known.wiped >= swap.at:
        notes.append(
            f"drive {swap.serial} was wiped on {_day(known.wiped)}: what was on it is gone"
        )
        return Located(request, now, swap.serial, False, 0.0, None, None, span, tuple(notes))
    stayed = swap.serial and same_serial(swap.serial) == same_serial(where.serial)
    if stayed and swap.visit != REGISTER:
        notes.append(f"visit {swap.visit} formatted or emptied this drive on {day}, after it")
        return Located(request, now, swap.serial, True, 0.0, None, None, span, tuple(notes))
    if swap.visit == REGISTER:
        if swap.serial:
            notes.append(f"by the register, drive {swap.serial} came out on {day}")
        else:
            notes.append(f"by the register, another drive went in on {day}")
    else:
        notes.append(f"visit {swap.visit} changed the drive on {day}")
    again = known.reused(swap.at) if known is not None else ""
    if again:
        notes.append(
            f"that drive was fitted in {again} afterwards, which may have formatted or overwritten "
            "it: how likely it is there cannot be told"
        )
        fitted = bool(stayed)
        return Located(request, now, swap.serial, fitted, None, None, None, span, tuple(notes))
    notes.append(
        "ask for the drive that came out; nothing overwrites it unless it was formatted or fitted "
        "elsewhere"
    )
    there: float | None = None
    if not isinstance(where.kept, str) and swap.serial:
        driving = driving_of(where.kept, where, notes)
        start, out = request.start.timestamp(), swap.at.timestamp()
        there = still_there(start, out, where.kept.hours, driving)
        notes.append("how likely it is there is that of the hour at which the drive came out")
    return Located(request, now, swap.serial, False, there, None, None, span, tuple(notes))


def _day(at: datetime) -> str:
    return f"{at.astimezone(UTC):%Y-%m-%d %H:%M}Z"


def _there(
    request: FootageRequest,
    now: datetime,
    where: Where,
    kept: Kept,
    driving: Driving,
    notes: list[str],
) -> tuple[float | None, datetime | None]:
    """How likely it is there, and when it was last seen on disk."""
    if _seen_gone(request, where.coverage) == 0:
        notes.append("a count of the hours on disk did not find it: it is gone, or was never there")
        return 0.0, None
    seen = _seen(request, where.coverage)
    start, at = request.start.timestamp(), now.timestamp()
    if kept.delete_after_d is not None and now > request.start + _days(kept.delete_after_d):
        notes.append(f"the recorder deletes what is older than {kept.delete_after_d:g} days")
        return 0.0, None
    if kept.stops:
        return None, seen
    last = None if seen is None else seen.timestamp()
    there = still_there(start, at, kept.hours, driving, last)
    if seen is not None:
        notes.append(f"it was counted on disk on {seen.astimezone(UTC):%Y-%m-%d %H:%M}Z")
    if there is None:
        age = recorded(start, at, driving).likely
        notes.append(
            f"by the sums it was overwritten before it was seen ({age:.0f} h recorded since): "
            "they are off, so how likely it is there cannot be told"
        )
    return there, seen


def _seen(request: FootageRequest, taken: Sequence[CoverageTaken]) -> datetime | None:
    """When all of it was last counted on disk for certain."""
    found = None
    for one in taken:
        rows = _rows(request, one)
        whole = bool(rows) and all(
            row.oldest is not None
            and row.newest is not None
            and row.oldest <= request.start
            and row.newest >= request.end
            and not any(
                hole.start < request.end and hole.end > request.start for hole in row.missing
            )
            for row in rows
        )
        if whole and one.coverage.window.start <= request.start:
            found = max(row.newest for row in rows if row.newest is not None)
    return found


def _seen_gone(request: FootageRequest, taken: Sequence[CoverageTaken]) -> float | None:
    """0 where a count after it found nothing of it on any channel asked for; else None."""
    for one in taken:
        rows = _rows(request, one)
        since = [row.oldest for row in rows if row.oldest is not None]
        if one.at >= request.end and since and min(since) >= request.end:
            return 0.0
    return None


def _rows(request: FootageRequest, one: CoverageTaken) -> list[ChannelCoverage]:
    return [
        row
        for row in one.coverage.channels
        if not request.channels or row.channel in request.channels
    ]


def _moments(
    at: datetime, kept: Kept, driving: Driving
) -> tuple[datetime, datetime, datetime] | None:
    try:
        found = overwritten(at.timestamp(), kept.hours, driving)
    except ValueError as error:
        raise UsageError(f"{error}; write hours_a_day into the fleet file") from None
    most = FAR.timestamp()
    if kept.delete_after_d is not None:
        most = min(most, (at + _days(kept.delete_after_d)).timestamp())
    return _times(found.within(at.timestamp(), most))


def _not_before(
    each: tuple[datetime, datetime, datetime], seen: datetime
) -> tuple[datetime, datetime, datetime]:
    return (max(each[0], seen), max(each[1], seen), max(each[2], seen))


def _times(moments: Moments) -> tuple[datetime, datetime, datetime]:
    epoch = datetime(1970, 1, 1, tzinfo=UTC)
    first, likely, last = (
        epoch + timedelta(seconds=at) for at in (moments.earliest, moments.likely, moments.latest)
    )
    return first, likely, last


def _days(days: float) -> timedelta:
    return timedelta(days=min(days, 36_500.0))


def _source(kept: Kept) -> str:
    hours = f"{kept.hours.low:.0f} to {kept.hours.high:.0f} h of recording"
    if kept.source == "proof":
        return f"the drive holds {hours}, by the rates that the last proof measured"
    return f"the drive holds {hours}, by the sums of its settings"
