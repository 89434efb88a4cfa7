"""What a log of acceleration is, from one look at all of it: rate, gaps, means over short bins."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from asfound.calc.even_samples import NEAR, Ticks, gap_of
from asfound.calc.mounting import Means

Floats = NDArray[np.float64]

BIN_S = 0.2
MOST_BINS = int(48 * 3600 / BIN_S)
"""Two days of driving tell how a sensor sits; more would only fill memory."""
BREAK_S = 600.0
"""Without samples for so long, it is another trip (own choice)."""
SNAP = 0.01
"""Part by which a rate that was meant to be whole may be off it."""


@dataclass(frozen=True, slots=True, eq=False)
class Survey:
    """``samples`` from ``start_s`` to ``end_s`` on ``ticks``, ``hours`` without gaps; ``breaks_s``:
    where trips end; ``gaps`` of any length; ``means`` in the log's own unit."""

    samples: int
    start_s: float
    end_s: float
    hours: float
    ticks: Ticks
    breaks_s: tuple[float, ...]
    gaps: int
    means: Means


class Surveyor:
    """Takes the blocks of a log (rising times) and says what it is."""

    def __init__(self) -> None:
        self._count = 0
        self._start = self._last = np.nan
        self._rate = np.nan
        self._steps = [0.0, 0.0]
        self._even = True
        self._driven = 0.0
        self._gaps = 0
        self._breaks: list[float] = []
        self._sums = np.zeros((0, 5))
        self._bins: list[Floats] = []
        self._kept = 0

    def feed(self, times_s: Floats, xyz: NDArray[np.floating]) -> None:
        """The next (n,) times and (n, 3) figures."""
        if len(times_s) == 0:
            return
        if self._count == 0:
            self._start = float(times_s[0])
        if np.isnan(self._rate) and len(times_s) > 1:
            self._rate = snapped(1 / float(np.median(np.diff(times_s))))
        self._times(times_s)
        self._means(times_s, xyz)
        self._count += len(times_s)
        self._last = float(times_s[-1])

    def made(self) -> Survey | None:
        """None for fewer than two samples."""
        if self._count < 2 or self._steps[1] == 0:
            return None
        rate = snapped(self._steps[1] / self._steps[0])
        even = self._even and rate == self._rate
        ticks = Ticks(self._start, rate, even)
        self._flush(np.inf)
        rows = np.concatenate(self._bins) if self._bins else np.zeros((0, 5))
        means = Means(self._start + (rows[:, 0] + 0.5) * BIN_S, rows[:, 2:] / rows[:, 1:2], BIN_S)
        hours = (self._driven + 1 / rate) / 3600
        return Survey(
            self._count,
            self._start,
            self._last,
            hours,
            ticks,
            tuple(self._breaks),
            self._gaps,
            means,
        )

    def _times(self, times: Floats) -> None:
        joined = times if self._count == 0 else np.concatenate([[self._last], times])
        steps = np.diff(joined)
        gap = gap_of(self._rate)
        fine = steps <= gap
        # A lost sample leaves a step of two; jitter makes steps of none and of two alike often.
        self._steps[0] += float(steps[fine].sum())
        self._steps[1] += float(np.rint(steps[fine] * self._rate).sum())
        self._driven += float(steps[fine].sum())
        self._gaps += int((~fine).sum())
        self._breaks += (joined[:-1][steps > BREAK_S] + 1e-3).tolist()
        if self._even:
            places = (joined - self._start) * self._rate
            whole = np.rint(places)
            lost = (np.diff(whole) != 1) & fine
            self._even = bool((np.abs(places - whole) < NEAR / 2).all() and not lost.any())

    def _means(self, times: Floats, xyz: NDArray[np.floating]) -> None:
        if self._kept >= MOST_BINS:
            return
        number = np.floor((times - self._start) / BIN_S)
        first = np.concatenate([[True], np.diff(number) > 0])
        starts = np.flatnonzero(first)
        counts = np.diff(np.append(starts, len(times)))
        sums = np.add.reduceat(xyz.astype(np.float64, copy=False), starts, axis=0)
        rows = np.column_stack([number[starts], counts, sums])
        if len(self._sums) and self._sums[-1, 0] == rows[0, 0]:
            rows[0, 1:] += self._sums[-1, 1:]
            self._sums = self._sums[:-1]
        self._sums = np.concatenate([self._sums, rows])
        self._flush(self._sums[-1, 0])

    def _flush(self, before: float) -> None:
        done = self._sums[:, 0] < before
        self._bins.append(self._sums[done])
        self._kept += int(done.sum())
        self._sums = self._sums[~done]


def snapped(rate: float) -> float:
    """A rate close to a whole one is that one; else four figures of it."""
    whole = round(rate)
    if whole >= 1 and abs(rate / whole - 1) < SNAP:
        return float(whole)
    return float(f"{rate:.4g}")
