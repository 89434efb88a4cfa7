"""What a vehicle's logs say: acceleration, positions, labelled events, and what was left out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Acceleration:
    """``xyz_ms2`` (n, 3) [m/s²] along the sensor's own axes, at ``times_s`` (n,) [s since 1970,
    UTC], in the order of time. Raises ValueError for shapes that do not fit."""

    times_s: Floats
    xyz_ms2: NDArray[np.floating]

    def __post_init__(self) -> None:
        if self.times_s.ndim != 1 or self.xyz_ms2.shape != (len(self.times_s), 3):
            raise ValueError(f"{self.times_s.shape} times for {self.xyz_ms2.shape} accelerations")

    def __len__(self) -> int:
        return len(self.times_s)


@dataclass(frozen=True, slots=True, eq=False)
class Track:
    """Positions (n,) [degrees, WGS 84] at ``times_s`` (n,) [s since 1970, UTC], in the order of
    time; speed [m/s] and course [degrees, clockwise from north] are nan where unknown.

    Raises ValueError for shapes that do not fit.
    """

    times_s: Floats
    lat_deg: Floats
    lon_deg: Floats
    speed_ms: Floats
    course_deg: Floats

    def __post_init__(self) -> None:
        columns = (self.lat_deg, self.lon_deg, self.speed_ms, self.course_deg)
        if self.times_s.ndim != 1 or any(each.shape != self.times_s.shape for each in columns):
            raise ValueError("a track's columns are not of one length")

    def __len__(self) -> int:
        return len(self.times_s)


@dataclass(frozen=True, slots=True)
class LogFault:
    """``what`` was wrong and left out at ``where`` (file and line), both for people to read."""

    where: str
    what: str


@dataclass(frozen=True, slots=True)
class Label:
    """An event that a person marked, from ``start_s`` to ``end_s`` [s since 1970, UTC, or since
    the log began]; ``kind`` in their words. Raises ValueError when it ends before it begins."""

    start_s: float
    end_s: float
    kind: str

    def __post_init__(self) -> None:
        if not self.start_s <= self.end_s:
            raise ValueError(f"a label from {self.start_s} to {self.end_s} ends before it begins")
