"""A footage strip as numbers: where clips, marks, labels and clock ticks stand.

Times are seconds on one axis, places are millimetres from the strip's left edge. Nothing is
drawn here. Every function is linear in time: x = (t - start) / (end - start) * width.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor

STEPS_S = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 10800, 21600, 43200)
"""Tick distances in seconds; each divides a day, so that ticks fall on round clock times."""

DAY_S = 86400


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of time in seconds, ``end`` >= ``start``."""

    start: float
    end: float


@dataclass(frozen=True, slots=True)
class Scale:
    """Time to place: ``span`` is drawn ``width`` millimetres wide."""

    span: Span
    width: float

    def x(self, second: float) -> float:
        """Millimetres from the left edge, kept within the strip."""
        length = self.span.end - self.span.start
        share = (second - self.span.start) / length if length > 0 else 0.0
        return min(max(share, 0.0), 1.0) * self.width


@dataclass(frozen=True, slots=True)
class Tick:
    """A line on the axis: where it stands and which second it stands for."""

    x: float
    second: float


@dataclass(frozen=True, slots=True)
class Mark:
    """A finding on the strip: its bar from ``x0`` to ``x1``, its label's left edge and lane.

    Lane 0 is next to the strip; a label never covers another one of its lane.
    """

    x0: float
    x1: float
    label_x: float
    lane: int


def windows(spans: Sequence[Span], slack_s: float = 60.0) -> tuple[tuple[int, ...], ...]:
    """Indexes of ``spans`` that belong on one axis, earliest axis first.

    A new axis starts where nothing at all is recorded for longer than ``slack_s`` and longer
    than twice the longest span, so that two evenings do not shrink to two hairlines. Gaps
    shorter than that stay visible within their axis.
    """
    if not spans:
        return ()
    order = sorted(range(len(spans)), key=lambda i: (spans[i].start, spans[i].end, i))
    longest = max(span.end - span.start for span in spans)
    limit = max(slack_s, 2 * longest)
    groups: list[list[int]] = [[order[0]]]
    reached = spans[order[0]].end
    for index in order[1:]:
        if spans[index].start - reached > limit:
            groups.append([])
        groups[-1].append(index)
        reached = max(reached, spans[index].end)
    return tuple(tuple(group) for group in groups)


def cover(spans: Sequence[Span]) -> Span:
    """The shortest span that holds all ``spans`` (at least one), never of zero length."""
    start = min(span.start for span in spans)
    end = max(span.end for span in spans)
    return Span(start, end if end > start else start + 1.0)


def ticks(scale: Scale, least_mm: float = 18.0) -> tuple[Tick, ...]:
    """Ticks at round times, at least ``least_mm`` apart; none stands outside the span."""
    length = scale.span.end - scale.span.start
    if length <= 0 or scale.width <= 0:
        return ()
    wanted = length * least_mm / scale.width
    place = bisect_left(STEPS_S, wanted)
    step = STEPS_S[place] if place < len(STEPS_S) else ceil(wanted / DAY_S) * DAY_S
    first, last = ceil(scale.span.start / step), floor(scale.span.end / step)
    return tuple(Tick(scale.x(n * step), float(n * step)) for n in range(first, last + 1))


def marks(
    spans: Sequence[Span], label_widths: Sequence[float], scale: Scale, least_mm: float = 0.8
) -> tuple[Mark, ...]:
    """One mark per span, in the order given.

    Bars are at least ``least_mm`` wide; labels start at their bar, are pushed left where they
    would stand out on the right, and go to the first lane where they have room.
    """
    placed: list[Mark | None] = [None] * len(spans)
    lanes: list[list[tuple[float, float]]] = []
    for index in sorted(range(len(spans)), key=lambda i: (spans[i].start, i)):
        x0, x1 = scale.x(spans[index].start), scale.x(spans[index].end)
        if x1 - x0 < least_mm:
            x0 = max(0.0, min(x0, scale.width - least_mm))
            x1 = x0 + least_mm
        width = label_widths[index]
        left = max(0.0, min(x0, scale.width - width))
        lane = _free_lane(lanes, left, left + width)
        placed[index] = Mark(x0, x1, left, lane)
    return tuple(mark for mark in placed if mark is not None)


def _free_lane(lanes: list[list[tuple[float, float]]], left: float, right: float) -> int:
    for number, taken in enumerate(lanes):
        if all(right <= start or left >= end for start, end in taken):
            taken.append((left, right))
            return number
    lanes.append([(left, right)])
    return len(lanes) - 1


def pictures_apart(
    moments: Sequence[float], scale: Scale, picture_mm: float
) -> tuple[tuple[int, float], ...]:
    """(index, left edge) of the pictures that fit beside each other, in order of time.

    A picture is centred on its moment, kept within the strip, and left out when it would
    cover the one before it. The first and the last moment are favoured.
    """
    order = sorted(range(len(moments)), key=lambda i: (moments[i], i))
    room = scale.width - picture_mm
    if not order or room < 0:
        return ()
    left = [max(0.0, min(scale.x(moments[i]) - picture_mm / 2, room)) for i in order]
    chosen = [0]
    last = len(order) - 1
    for place in range(1, last):
        after_previous = left[place] >= left[chosen[-1]] + picture_mm
        if after_previous and left[place] + picture_mm <= left[last]:
            chosen.append(place)
    if last > 0 and left[last] >= left[chosen[-1]] + picture_mm:
        chosen.append(last)
    return tuple((order[place], left[place]) for place in chosen)
