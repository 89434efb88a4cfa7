"""What is on disk, 16 bytes a recording, and recordings that a wrong clock stamped set aside."""

from __future__ import annotations

from array import array
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from itertools import compress

from asfound.calc.coverage import Spans, overlap, union
from asfound.calc.strip import Span
from asfound.jobs.prove_stamps import APART, Stamps, sort_stamps, span_words
from asfound.model.coverage import Period, Piece

APART_S = 3600.0
"""Recordings further than this from any drive are told: a recorder runs on for minutes after the
ignition is switched off (common practice, no source)."""


@dataclass(slots=True)
class Channel:
    """When each recording of a channel begins and ends [s since 1970]: 16 bytes a recording."""

    starts: array[float] = field(default_factory=lambda: array("d"))
    ends: array[float] = field(default_factory=lambda: array("d"))

    def each(self) -> Iterator[Span]:
        """Recording by recording."""
        return (Span(start, end) for start, end in zip(self.starts, self.ends, strict=True))

    def keep(self, flags: Sequence[bool]) -> None:
        """Of its recordings, those whose flag is true."""
        self.starts = array("d", compress(self.starts, flags))
        self.ends = array("d", compress(self.ends, flags))


@dataclass(slots=True)
class Disk:
    """What is on disk. ``unplaced``: a line for each recording that could not be placed;
    ``asked``: channel, start and file of those that a footage request touches."""

    channels: dict[int, Channel] = field(default_factory=lambda: defaultdict(Channel))
    unplaced: list[str] = field(default_factory=list)
    asked: list[tuple[int, datetime, str]] = field(default_factory=list)
    oldest: float | None = None
    newest: float | None = None
    count: int = 0

    def add(self, piece: Piece, asked: Period | None) -> None:
        """One recording more."""
        span = Span(piece.start.timestamp(), piece.end.timestamp())
        self.count += 1
        channel = self.channels[piece.channel]
        channel.starts.append(span.start)
        channel.ends.append(span.end)
        if asked is not None and piece.start < asked.end and piece.end > asked.start:
            self.asked.append((piece.channel, piece.start, piece.file))
        if span.end > span.start:
            self.oldest = min(span.start, span.start if self.oldest is None else self.oldest)
            self.newest = max(span.end, span.end if self.newest is None else self.newest)

    def measure(self) -> None:
        """Work the oldest and newest moment out anew."""
        spans = [span for channel in self.channels.values() for span in channel.each()]
        self.oldest = min((span.start for span in spans if span.end > span.start), default=None)
        self.newest = max((span.end for span in spans if span.end > span.start), default=None)

    def held(self, channel: int) -> Spans:
        """When ``channel`` has a picture."""
        return union(self.channels[channel].each()) if channel in self.channels else ()


def set_aside(disk: Disk, driven: Sequence[Span]) -> None:
    """Take recordings stamped years from all others out of ``disk`` and say so: they would make
    years of missing hours, and days kept that nobody has.

    Where a log tells of drives (``driven``) near some of them, those are right; else those that
    most recordings lie among.
    """
    if disk.oldest is None or disk.newest is None:
        return
    if disk.newest - disk.oldest <= APART.total_seconds():
        return
    starts = [start for channel in disk.channels.values() for start in channel.starts]
    stamps = sort_stamps(starts, None)
    if stamps.main is None or len(stamps.sizes) < 2:
        return
    spans = _spans(starts, stamps)
    right = [span for span in spans if overlap((_near(span),), driven)] or [spans[stamps.main]]
    strays = [span for span in spans if span not in right]
    for number, channel in disk.channels.items():
        for stray in strays:
            taken = [start for start in channel.starts if _within(start, (stray,))]
            if taken:
                disk.unplaced.append(_line(number, taken, right))
        channel.keep([not _within(start, strays) for start in channel.starts])
    disk.asked = [item for item in disk.asked if not _within(item[1].timestamp(), strays)]
    disk.measure()


def _spans(starts: Sequence[float], stamps: Stamps) -> list[Span]:
    """First and last start of each timeline."""
    ends = [[float("inf"), float("-inf")] for _ in stamps.sizes]
    for start, number in zip(starts, stamps.timeline, strict=True):
        ends[number] = [min(ends[number][0], start), max(ends[number][1], start)]
    return [Span(first, last) for first, last in ends]


def _near(span: Span) -> Span:
    return Span(span.start - APART_S, span.end + APART_S)


def _within(start: float, spans: Sequence[Span]) -> bool:
    return any(span.start <= start <= span.end for span in spans)


def _line(channel: int, taken: Sequence[float], right: Sequence[Span]) -> str:
    first, last = min(taken), max(taken)
    apart, side = min(
        (span.start - last, "before") if last < span.start else (first - span.end, "after")
        for span in right
    )
    count = "1 recording" if len(taken) == 1 else f"{len(taken)} recordings"
    days = f"{_day(first)}" if _day(first) == _day(last) else f"{_day(first)} to {_day(last)}"
    return (
        f"channel {channel}: {count} stamped {days}, {span_words(apart)} {side} the others: the "
        "clock was wrong, or it is footage of another time; not counted"
    )


def _day(second: float) -> str:
    return f"{datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=second):%Y-%m-%d}"
