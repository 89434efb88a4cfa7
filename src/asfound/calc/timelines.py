"""Times: spans of samples, gaps between recordings, seconds spread over a recording."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Stands:
    """What each of n samples stands for besides its own moment: the time to the next sample
    (``holds``), else ``trail_s`` seconds after it; and ``lead_s`` seconds before it."""

    holds: NDArray[np.bool_]
    lead_s: NDArray[np.float64]
    trail_s: NDArray[np.float64]


def runs(
    seconds: NDArray[np.float64],
    flags: NDArray[np.bool_],
    minimum_s: float,
    end_s: float,
    stands: Stands | None = None,
) -> tuple[tuple[int, int], ...]:
    """(first, last) sample of each unbroken run of true ``flags`` that lasts ``minimum_s``.

    A sample lasts until the next one, the last one until ``end_s``, unless ``stands`` says
    otherwise; a run ends with a sample that does not last until the next. ``seconds`` ascend.
    """
    if not len(seconds):
        return ()
    begins, ends = reach(seconds, end_s, stands)
    joins = flags[:-1] & flags[1:]
    if stands is not None:
        joins = joins & stands.holds[:-1]
    starts = np.flatnonzero(flags & ~np.append(False, joins))
    stops = np.flatnonzero(flags & ~np.append(joins, False))
    return tuple(
        (int(first), int(last))
        for first, last in zip(starts, stops, strict=True)
        if ends[last] - begins[first] >= minimum_s - 1e-6
    )


def reach(
    seconds: NDArray[np.float64], end_s: float, stands: Stands | None = None
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """From when to when each sample stands [s]."""
    ends = np.append(seconds[1:], max(end_s, float(seconds[-1])))
    if stands is None:
        return seconds, ends
    alone = np.minimum(seconds + stands.trail_s, ends)
    return seconds - stands.lead_s, np.where(stands.holds, ends, alone)


@dataclass(frozen=True, slots=True)
class Seam:
    """Between piece ``before`` and piece ``after``: seconds missing (> 0) or overlapping (< 0)."""

    before: int
    after: int
    seconds: float


def seams(pieces: Sequence[tuple[float, float]], tolerance_s: float) -> tuple[Seam, ...]:
    """Gaps and overlaps longer than ``tolerance_s`` between pieces (start, duration) [s].

    Pieces may come in any order; the numbers in a Seam are places in ``pieces``. A piece that
    lies inside an earlier one is an overlap, and the earlier one's end stays the mark.
    """
    order = sorted(range(len(pieces)), key=lambda number: pieces[number])
    found = []
    latest = order[0] if order else 0
    for number in order[1:]:
        end = sum(pieces[latest])
        missing = pieces[number][0] - end
        if abs(missing) > tolerance_s:
            found.append(Seam(latest, number, missing))
        if sum(pieces[number]) >= end:
            latest = number
    return tuple(found)


def eras(moments: Sequence[float], apart: float) -> tuple[int, ...]:
    """The number of each moment's era, earliest 0: one ends where nothing follows for longer
    than ``apart`` (same unit). Moments may come in any order."""
    order = sorted(range(len(moments)), key=lambda place: moments[place])
    numbers = [0] * len(moments)
    era = 0
    for before, place in zip([None, *order[:-1]], order, strict=True) if order else ():
        if before is not None and moments[place] - moments[before] > apart:
            era += 1
        numbers[place] = era
    return tuple(numbers)


def jumps(seconds: NDArray[np.float64], tolerance_s: float) -> tuple[tuple[float, float], ...]:
    """(from, to) of each pause between samples longer than ``tolerance_s``."""
    places = np.flatnonzero(np.diff(seconds) > tolerance_s)
    return tuple((float(seconds[place]), float(seconds[place + 1])) for place in places)


def spread(duration_s: float, count: int) -> tuple[float, ...]:
    """``count`` seconds spread evenly inside a recording, away from both ends."""
    return tuple(duration_s * (2 * number + 1) / (2 * count) for number in range(count))
