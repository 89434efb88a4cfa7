"""Hours a day that a recorder records, from when the ignition is on and how long it runs on.

A day is a circle: 22:00 to 02:00 goes over midnight. Runs that touch or overlap count once, and so
does a run-on that lasts until the ignition is on again.
"""

from __future__ import annotations

from collections.abc import Sequence

DAY_H = 24.0


def recorded_hours(spans: Sequence[tuple[float, float]], run_on_h: float = 0.0) -> float:
    """Hours a day [h], at most 24, of ``spans`` (from, until) [h after midnight, 0 to 24]; each is
    made ``run_on_h`` [h, >= 0] longer. The same figure twice is the whole day."""
    pieces: list[tuple[float, float]] = []
    for begin, end in spans:
        length = (end - begin) % DAY_H or DAY_H
        length = min(length + run_on_h, DAY_H)
        start = begin % DAY_H
        pieces.append((start, min(start + length, DAY_H)))
        if start + length > DAY_H:
            pieces.append((0.0, start + length - DAY_H))
    total, until = 0.0, 0.0
    for start, stop in sorted(pieces):
        total += max(0.0, stop - max(start, until))
        until = max(until, stop)
    return min(total, DAY_H)
