"""Distances on the Earth, many at a time, on the ellipsoid of WGS 84.

Inverse geodesic after T. Vincenty, "Direct and inverse solutions of geodesics on the ellipsoid
with application of nested equations", Survey Review 23 (176), 1975, formulas 13 to 19 (from
memory; held against GeographicLib in the tests: within 1 mm). a = 6378137 m,
1/f = 298.257223563 (NIMA TR8350.2, 2000). Between points that lie almost opposite to each other on
the Earth it does not converge: there the sphere of the mean radius is taken (within 0.6 %).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

EQUATOR_M = 6378137.0
FLATTENING = 1 / 298.257223563
POLAR_M = EQUATOR_M * (1 - FLATTENING)
MEAN_M = (2 * EQUATOR_M + POLAR_M) / 3
"""Mean radius (IUGG): 6371008.8 m."""

_TURNS, _MOST_TURNS = 12, 1000
"""Enough for all roads; for the few lines that go almost half round the Earth."""
_CLOSE = 1e-12
"""Radians at which longitude has converged: 6 µm."""


def distances_m(lat1: Floats, lon1: Floats, lat2: Floats, lon2: Floats) -> Floats:
    """Lengths [m] (n,) of the shortest lines between points (n,) and points (n,), degrees; nan
    where a coordinate is nan."""
    lat1, lon1, lat2, lon2 = (np.asarray(each, np.float64) for each in (lat1, lon1, lat2, lon2))
    apart = np.radians((lon2 - lon1 + 180) % 360 - 180)
    one = np.arctan((1 - FLATTENING) * np.tan(np.radians(lat1)))
    two = np.arctan((1 - FLATTENING) * np.tan(np.radians(lat2)))
    found, converged = _vincenty(one, two, apart, _TURNS)
    slow = ~converged & ~np.isnan(found)
    if slow.any():
        found[slow], converged[slow] = _vincenty(one[slow], two[slow], apart[slow], _MOST_TURNS)
    sphere = _sphere(np.radians(lat1), np.radians(lat2), apart)
    return np.where(converged, found, sphere)


def steps_m(lat: Floats, lon: Floats) -> Floats:
    """Lengths [m] (n - 1,) from each of the points (n,) [degrees] to the next."""
    return distances_m(lat[:-1], lon[:-1], lat[1:], lon[1:])


def _sphere(lat1: Floats, lat2: Floats, apart: Floats) -> Floats:
    half = np.sin((lat2 - lat1) / 2) ** 2 + np.cos(lat1) * np.cos(lat2) * np.sin(apart / 2) ** 2
    made: Floats = 2 * MEAN_M * np.arcsin(np.sqrt(np.clip(half, 0, 1)))
    return made


def _vincenty(
    one: Floats, two: Floats, apart: Floats, turns: int
) -> tuple[Floats, NDArray[np.bool_]]:
    """Lengths [m] from reduced latitudes and difference in longitude, and where they are right."""
    sin1, cos1, sin2, cos2 = np.sin(one), np.cos(one), np.sin(two), np.cos(two)
    lam = apart.copy()
    done = np.isnan(apart + one + two)
    for _ in range(turns):
        across, along = cos2 * np.sin(lam), cos1 * sin2 - sin1 * cos2 * np.cos(lam)
        sin_s = np.hypot(across, along)
        cos_s = sin1 * sin2 + cos1 * cos2 * np.cos(lam)
        sigma = np.arctan2(sin_s, cos_s)
        sin_a = np.divide(cos1 * cos2 * np.sin(lam), sin_s, out=np.zeros_like(lam), where=sin_s > 0)
        cos2_a = 1 - sin_a**2
        # On the equator there is no middle of the line to measure latitude from.
        cos_m = cos_s - np.divide(
            2 * sin1 * sin2, cos2_a, out=np.array(cos_s), where=cos2_a > 1e-15
        )
        c = FLATTENING / 16 * cos2_a * (4 + FLATTENING * (4 - 3 * cos2_a))
        turn = sigma + c * sin_s * (cos_m + c * cos_s * (2 * cos_m**2 - 1))
        new = apart + (1 - c) * FLATTENING * sin_a * turn
        done = done | (np.abs(new - lam) < _CLOSE)
        lam = new
        if done.all():
            break
    converged = done & ~(np.abs(lam) > np.pi)
    u2 = cos2_a * (EQUATOR_M**2 - POLAR_M**2) / POLAR_M**2
    a = 1 + u2 / 16384 * (4096 + u2 * (u2 * (320 - 175 * u2) - 768))
    b = u2 / 1024 * (256 + u2 * (u2 * (74 - 47 * u2) - 128))
    inner = cos_s * (2 * cos_m**2 - 1)
    inner -= b / 6 * cos_m * (4 * sin_s**2 - 3) * (4 * cos_m**2 - 3)
    return POLAR_M * a * (sigma - b * sin_s * (cos_m + b / 4 * inner)), converged
