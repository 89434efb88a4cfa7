"""Stretches of time as sets: union, overlap, difference, and what is held of what is expected.

Every result is in order, its stretches neither touch nor overlap, and none is empty. A stretch
holds its start and not its end, so that neighbours meet without a hole and without an overlap.
The unit is the caller's (seconds since 1970 in jobs/coverage.py). Cost: n log n.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from asfound.calc.strip import Span

Spans = tuple[Span, ...]


def union(spans: Iterable[Span]) -> Spans:
    """Every moment that lies in at least one of ``spans``; empty ones hold no moment."""
    made: list[Span] = []
    for span in sorted(
        (span for span in spans if span.end > span.start), key=lambda span: (span.start, span.end)
    ):
        if made and span.start <= made[-1].end:
            if span.end > made[-1].end:
                made[-1] = Span(made[-1].start, span.end)
        else:
            made.append(span)
    return tuple(made)


def overlap(one: Iterable[Span], other: Iterable[Span]) -> Spans:
    """Every moment that lies in both."""
    left, right = union(one), union(other)
    made: list[Span] = []
    i = j = 0
    while i < len(left) and j < len(right):
        start, end = max(left[i].start, right[j].start), min(left[i].end, right[j].end)
        if start < end:
            made.append(Span(start, end))
        if left[i].end <= right[j].end:
            i += 1
        else:
            j += 1
    return tuple(made)


def without(one: Iterable[Span], taken: Iterable[Span]) -> Spans:
    """Every moment of ``one`` that does not lie in ``taken``."""
    kept, cuts = union(one), union(taken)
    made: list[Span] = []
    j = 0
    for span in kept:
        at = span.start
        while j < len(cuts) and cuts[j].end <= at:
            j += 1
        k = j
        while k < len(cuts) and cuts[k].start < span.end:
            if cuts[k].start > at:
                made.append(Span(at, cuts[k].start))
            at = max(at, cuts[k].end)
            k += 1
        if at < span.end:
            made.append(Span(at, span.end))
    return tuple(made)


def total(spans: Iterable[Span]) -> float:
    """The length of all of ``spans`` together, moments in several counted once."""
    return sum(span.end - span.start for span in union(spans))


@dataclass(frozen=True, slots=True)
class Held:
    """What is held of what is expected: lengths, holes, and the start of the whole stretch.

    ``whole_since``: from there to the end of what is expected no hole is longer than allowed;
    None when nothing is expected or nothing of the last stretch is held.
    """

    expected: float
    held: float
    holes: Spans
    whole_since: float | None


def held_of(expected: Sequence[Span], on_disk: Sequence[Span], allow: float) -> Held:
    """``on_disk`` against ``expected``; holes of at most ``allow`` do not break a whole stretch.

    Holes shorter than that are still holes here: the caller decides what is worth telling.
    """
    wanted = union(expected)
    holes = without(wanted, on_disk)
    length = total(wanted)
    breaks = [hole.end for hole in holes if hole.end - hole.start > allow]
    since: float | None = None
    if wanted:
        rest = [span for span in wanted if not breaks or span.end > breaks[-1]]
        since = max(rest[0].start, breaks[-1] if breaks else rest[0].start) if rest else None
    return Held(length, length - total(holes), holes, since)
