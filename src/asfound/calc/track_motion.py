"""Speed and course of a track where its receiver told none: from one position to the next.

speed = geodesic distance / time; course = direction of that step, clockwise from north, on a plane
that touches the Earth there (steps of metres). Taken at the middle of each step, so a fix has the
mean of the steps before and after it. Noisier than what a receiver measures by Doppler shift.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from asfound.calc.wgs84 import steps_m
from asfound.model.drive_log import Track

Floats = NDArray[np.float64]

LONGEST_S = 5.0
"""Between fixes further apart nothing is said of the speed."""
LEAST_M = 2.0
"""A step shorter than this has no direction: a receiver's noise (common practice, no source)."""


def speed_and_course(track: Track) -> tuple[Floats, Floats]:
    """Speed [m/s] and course [degrees] (n,) as told, and from positions where not; else nan."""
    count = len(track)
    speed, course = track.speed_ms.copy(), track.course_deg.copy()
    if count < 2 or not (np.isnan(speed).any() or np.isnan(course).any()):
        return speed, course
    apart = np.diff(track.times_s)
    metres = steps_m(track.lat_deg, track.lon_deg)
    fine = (apart > 0) & (apart <= LONGEST_S) & np.isfinite(metres)
    rate = np.where(fine, metres / np.where(apart > 0, apart, 1.0), np.nan)
    north = np.diff(track.lat_deg)
    east = np.diff(track.lon_deg) * np.cos(np.radians(track.lat_deg[:-1]))
    way = np.where(fine & (metres >= LEAST_M), 1.0, np.nan) * np.exp(1j * np.arctan2(east, north))
    both = _beside(way)
    told = np.isnan(speed)
    speed[told] = _beside(rate.astype(np.complex128)).real[told]
    turned = np.degrees(np.angle(both)) % 360
    told = np.isnan(course)
    course[told] = np.where(np.isnan(both), np.nan, turned)[told]
    return speed, course


def _beside(steps: NDArray[np.complex128]) -> NDArray[np.complex128]:
    """(n,) means of the steps (n - 1,) before and after each fix; nan where both are."""
    before = np.concatenate([[np.nan], steps])
    after = np.concatenate([steps, [np.nan]])
    return np.where(
        np.isnan(before), after, np.where(np.isnan(after), before, (before + after) / 2)
    )
