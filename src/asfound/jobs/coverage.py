"""Coverage: what share of the hours that should be on disk is there, and what is not."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from asfound.calc.coverage import Held, Spans, held_of, overlap, total, union, without
from asfound.calc.schedule import scheduled
from asfound.calc.strip import Span
from asfound.errors import UsageError
from asfound.jobs.coverage_disk import APART_S, Disk, set_aside
from asfound.model.coverage import (
    ChannelCoverage,
    Coverage,
    CoverageVerdict,
    Found,
    IgnitionLog,
    Period,
    Piece,
    Schedule,
)

ALLOW_S = 60.0
"""Longest hole that is no finding [s]: a recorder needs up to a minute to start after the
ignition is switched on (common practice, no source)."""

REQUEST_S = 1.0
"""Of a footage request, no longer hole is let pass: the second asked for may lie in it."""


@dataclass(frozen=True, slots=True)
class Cover:
    """Recordings and the hours they are held against. All times aware.

    ``pieces``: recordings placed in time, and one line for each that could not be; read once, as
    they come. ``now`` ends the window of a schedule unless ``until`` does. ``since``, ``until``:
    the time that counts; without ``since`` the last ``days`` (the days promised), else from the
    drive's oldest picture. ``allow_s``: longest hole that is no finding. ``channels`` must be
    there; () = those found. ``request``: a footage request for ``asked`` channels (() = all).
    """

    pieces: Iterable[Piece | str]
    expected: IgnitionLog | Schedule
    now: datetime
    since: datetime | None = None
    until: datetime | None = None
    days: float | None = None
    allow_s: float = ALLOW_S
    channels: tuple[int, ...] = ()
    request: Period | None = None
    asked: tuple[int, ...] = ()


def cover(request: Cover) -> Coverage:
    """Hold what is on disk against what should be. Raises UsageError for a window without end."""
    disk = _on_disk(request)
    window, expected = _expected(request, disk)
    counted = overlap(expected, (window,))
    channels = tuple(
        _channel(channel, counted, disk, request.allow_s)
        for channel in sorted(set(request.channels) | set(disk.channels))
    )
    short = tuple(
        item.channel
        for item in channels
        if request.days is not None and _is_short(item, counted, request.allow_s)
    )
    found = _found(request, disk) if request.request is not None else ()
    unclear = _doubts(request, disk, counted, channels)
    gone = any(item.missing for item in channels) or bool(short)
    gone = gone or any(_seconds(item.missing) > REQUEST_S for item in found)
    verdict = CoverageVerdict.COMPLETE
    if gone:
        verdict = CoverageVerdict.MISSING
    elif unclear:
        verdict = CoverageVerdict.UNCLEAR
    before = overlap(expected, (Span(float("-inf"), window.start),))
    return Coverage(
        verdict=verdict,
        window=_period(window),
        older_h=total(before) / 3600,
        allow_s=request.allow_s,
        channels=channels,
        days=request.days,
        short=short,
        request=request.request,
        found=found,
        unclear=tuple(unclear),
        notes=_apart(disk, expected, window),
    )


def _on_disk(request: Cover) -> Disk:
    disk = Disk()
    for piece in request.pieces:
        if isinstance(piece, Piece):
            disk.add(piece, request.request)
        else:
            disk.unplaced.append(piece)
    log = request.expected if isinstance(request.expected, IgnitionLog) else None
    driven = [_span(item.start, item.end) for item in log.driven] if log else []
    set_aside(disk, driven)
    return disk


def _expected(request: Cover, disk: Disk) -> tuple[Span, Spans]:
    """The window, and everything expected up to its end."""
    log = request.expected if isinstance(request.expected, IgnitionLog) else None
    driven = union(_span(item.start, item.end) for item in log.driven) if log else ()
    until = request.until.timestamp() if request.until else None
    if until is None:
        until = driven[-1].end if driven else request.now.timestamp()
    if request.since is not None:
        since = request.since.timestamp()
    elif request.days is not None:
        since = until - request.days * 86400
    elif disk.oldest is not None:
        since = disk.oldest
    elif driven:
        since = driven[0].start
    else:
        raise UsageError(
            "no recording could be placed in time, so the schedule has no start; give --since"
        )
    if since >= until:
        raise UsageError(
            f"the time that counts begins at {_text(since)} (--since, --days, or the oldest "
            f"picture) and ends at {_text(until)} (--until, or the log's end); mend one of them"
        )
    window = Span(since, until)
    if isinstance(request.expected, Schedule):
        zone = ZoneInfo(request.expected.zone)
        return window, scheduled(request.expected, zone, window)
    return window, overlap(driven, (Span(float("-inf"), until),))


def _channel(channel: int, counted: Spans, disk: Disk, allow_s: float) -> ChannelCoverage:
    own = disk.held(channel)
    made: Held = held_of(counted, own, allow_s)
    long = tuple(hole for hole in made.holes if hole.end - hole.start > allow_s)
    oldest, newest = (own[0].start, own[-1].end) if own else (None, None)
    kept = None if oldest is None or disk.newest is None else (disk.newest - oldest) / 86400
    return ChannelCoverage(
        channel=channel,
        expected_h=made.expected / 3600,
        held_h=made.held / 3600,
        share=made.held / made.expected if made.expected else None,
        missing=_periods(long),
        scraps_h=(total(made.holes) - total(long)) / 3600,
        oldest=_at(oldest),
        newest=_at(newest),
        days_kept=kept,
        whole_since=_at(made.whole_since),
    )


def _is_short(item: ChannelCoverage, counted: Spans, allow_s: float) -> bool:
    """Whether the vehicle drove, in the days promised, before the channel's oldest picture."""
    if item.oldest is None:
        return bool(counted)
    before = overlap(counted, (Span(float("-inf"), item.oldest.timestamp()),))
    return total(before) > allow_s


def _found(request: Cover, disk: Disk) -> tuple[Found, ...]:
    asked = request.request
    if asked is None:
        return ()
    span = _span(asked.start, asked.end)
    if isinstance(request.expected, Schedule):
        driving = scheduled(request.expected, ZoneInfo(request.expected.zone), span)
    else:
        driven = (_span(item.start, item.end) for item in request.expected.driven)
        driving = overlap(driven, (span,))
    made = []
    for channel in sorted(set(request.asked) or set(request.channels) | set(disk.channels)):
        held = overlap(disk.held(channel), (span,))
        rest = without((span,), held)
        files = tuple(file for own, _, file in sorted(disk.asked) if own == channel)
        missing, idle = overlap(rest, driving), without(rest, driving)
        made.append(Found(channel, _periods(held), _periods(missing), _periods(idle), files))
    return tuple(made)


def _doubts(
    request: Cover, disk: Disk, counted: Spans, channels: Sequence[ChannelCoverage]
) -> list[str]:
    lines = list(disk.unplaced)
    if isinstance(request.expected, IgnitionLog):
        lines += request.expected.notes
    if not counted:
        lines.append("nothing was expected in this time: there is nothing to hold against it")
    if not channels:
        lines.append("no channel is known: no recording could be placed, and none was named")
    return lines


def _apart(disk: Disk, expected: Spans, window: Span) -> tuple[str, ...]:
    """Recordings far from any drive inside the time that the expectation speaks of."""
    near = union(Span(span.start - APART_S, span.end + APART_S) for span in expected)
    speaks = union((window, *expected))
    count, first = 0, (math.inf, 0)
    for number, channel in disk.channels.items():
        for own in channel.each():
            if _meets(own, speaks) and not _meets(own, near):
                count += 1
                first = min(first, (own.start, number))
    if not count:
        return ()
    return (
        f"{count} of {disk.count} recordings lie more than an hour from any time that was "
        f"expected, first channel {first[1]}'s of {_text(first[0])}: the recorder's clock may be "
        "off, or it records while parked",
    )


def _meets(span: Span, spans: Spans) -> bool:
    """Whether ``span`` shares a moment with any of ``spans``, which are a union."""
    at = bisect_right(spans, span.start, key=lambda one: one.end)
    return span.end > span.start and at < len(spans) and spans[at].start < span.end


def _span(start: datetime, end: datetime) -> Span:
    return Span(start.timestamp(), end.timestamp())


def _moment(second: float) -> datetime:
    return datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=second)


def _at(second: float | None) -> datetime | None:
    return None if second is None else _moment(second)


def _period(span: Span) -> Period:
    return Period(_moment(span.start), _moment(span.end))


def _periods(spans: Sequence[Span]) -> tuple[Period, ...]:
    return tuple(_period(span) for span in spans)


def _seconds(periods: Sequence[Period]) -> float:
    return sum(period.hours for period in periods) * 3600


def _text(second: float) -> str:
    """RFC 3339 in UTC, to the second."""
    return f"{_moment(second):%Y-%m-%dT%H:%M:%SZ}"
