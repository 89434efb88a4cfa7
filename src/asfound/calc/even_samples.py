"""Samples at even times: logs jitter, lose samples and stop; filters and durations want a grid.

The grid's points are start + k / rate for whole k. Between two samples no further apart than the
gap it is filled in straight lines; a longer gap begins a new stretch. A point depends on the two
samples around it and on nothing else, so the blocks in which a log arrives change nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

NEAR = 1e-3
"""Part of a step within which a sample lies on the grid: times have so many digits."""
LEAST_GAP_S = 0.5
GAP_STEPS = 4.0
"""Samples that may be missing before it is a gap (own choice)."""


@dataclass(frozen=True, slots=True)
class Ticks:
    """The grid: ``start_s`` [s since 1970], ``rate_hz``; ``even``: every sample lies on it, but
    for gaps."""

    start_s: float
    rate_hz: float
    even: bool

    @property
    def gap_s(self) -> float:
        """Without samples for longer than this, a stretch is over."""
        return gap_of(self.rate_hz)

    def number(self, at_s: float) -> int:
        """The point nearest to a time."""
        return round((at_s - self.start_s) * self.rate_hz)


def gap_of(rate_hz: float) -> float:
    """Seconds without samples that are a gap."""
    return max(LEAST_GAP_S, GAP_STEPS / rate_hz)


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """Acceleration (n, 3) at the grid's points ``first``, ``first`` + 1 …; ``fresh``: a stretch
    begins with it."""

    first: int
    xyz: Floats
    fresh: bool


class Evener:
    """Takes blocks in the order of time and gives them on the grid."""

    def __init__(self, ticks: Ticks) -> None:
        self.ticks = ticks
        self._time = np.empty(0)
        self._xyz = np.empty((0, 3))
        self._next: int | None = None

    def feed(self, times_s: Floats, xyz: NDArray[np.floating]) -> Iterator[Piece]:
        """``times_s`` (n,) rise; ``xyz`` (n, 3)."""
        if len(times_s) == 0:
            return
        rate = self.ticks.rate_hz
        places = np.concatenate([self._time, (times_s - self.ticks.start_s) * rate])
        samples = np.concatenate([self._xyz, xyz.astype(np.float64, copy=False)])
        cuts = np.flatnonzero(np.diff(places) > self.ticks.gap_s * rate) + 1
        edges = [0, *cuts.tolist(), len(places)]
        for begin, end in pairwise(edges):
            if begin > 0 or len(self._time) == 0:
                self._next = None
            yield from self._stretch(places[begin:end], samples[begin:end])
        self._time, self._xyz = places[-1:], samples[-1:]

    def _stretch(self, places: Floats, samples: Floats) -> Iterator[Piece]:
        fresh = self._next is None
        first = int(np.ceil(places[0] - NEAR)) if self._next is None else self._next
        # Off the grid, nothing is said of times after the last sample: more may come.
        last = int(np.floor(places[-1] + (NEAR if self.ticks.even else 0.0)))
        if last < first:
            return
        if self.ticks.even:
            xyz = samples[len(samples) - (last - first + 1) :]
        else:
            at = np.arange(first, last + 1, dtype=np.float64)
            xyz = np.stack([np.interp(at, places, samples[:, n]) for n in range(3)], axis=1)
        self._next = last + 1
        yield Piece(first, xyz, fresh)
