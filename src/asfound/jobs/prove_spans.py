"""Measures of a recording's key pictures, and findings made of rows of them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from asfound.calc.cover import Detail
from asfound.calc.tearing import Seams
from asfound.model.finding import Finding, Kind
from asfound.sources import PICTURE_FAULT_SECONDS, Limit

FEWEST = 3
"""Pictures that must show a fault (own choice)."""

Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Measured:
    """One picture. ``empty``: black or nearly one colour, as other checks say."""

    second: float
    empty: bool
    blur: float
    noise: float
    white: float
    lights: float
    seams: Seams
    detail: Detail | None


class Spans:
    """Times of the pictures, and findings made of rows of them."""

    def __init__(self, rows: Sequence[Measured], end_s: float) -> None:
        self.rows = rows
        times = np.array([row.second for row in rows])
        middles = (times[1:] + times[:-1]) / 2
        # A fault began and ended somewhere between two pictures.
        self._starts = np.concatenate(([0.0], middles))
        self._ends = np.append(middles, max(end_s, float(times[-1])))

    def values(self, of: Callable[[Measured], float]) -> NDArray[np.float64]:
        """One figure of each picture."""
        return np.array([of(row) for row in self.rows], np.float64)

    def slice(self, finding: Finding) -> slice:
        """The pictures in a finding."""
        first = int(np.searchsorted(self._starts, finding.start_s - 1e-6))
        return slice(first, int(np.searchsorted(self._ends, finding.end_s - 1e-6)) + 1)

    def inside(self, findings: Sequence[Finding]) -> Flags:
        """Which pictures lie in any of ``findings``."""
        out = np.zeros(len(self.rows), np.bool_)
        for finding in findings:
            out[self.slice(finding)] = True
        return out

    def runs(self, flags: Flags) -> Iterator[tuple[int, int]]:
        """(first, last) of each run of flagged pictures; a single one between may be missing."""
        whole = flags.copy()
        whole[1:-1] |= flags[:-2] & flags[2:]
        edges = np.diff(np.concatenate(([0], whole.astype(np.int8), [0])))
        starts, stops = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1) - 1
        yield from zip(starts.tolist(), stops.tolist(), strict=True)

    def finding(
        self, kind: Kind, first: int, last: int, measured: float, limit: Limit, note: str
    ) -> Iterator[Finding]:
        """The finding, when it lasts and enough pictures show it."""
        start, end = float(self._starts[first]), float(self._ends[last])
        lasts = end - start >= PICTURE_FAULT_SECONDS.value - 1e-6
        if lasts and last - first + 1 >= FEWEST:
            yield Finding(
                kind, start, end, measured, limit.value, limit.unit, limit.source.cite(), "", note
            )
