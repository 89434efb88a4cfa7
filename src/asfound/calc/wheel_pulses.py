"""Wheel pulses a kilometre, from a pulse count and the distance that satellites measured.

    pulses = w * distance, without an intercept: no distance makes no pulses         [imp/km]

w by Huber's M-estimate (P. J. Huber, Robust Estimation of a Location Parameter, Ann. Math. Stat.
35(1), 1964; k = 1.345 for 95 % efficiency, from memory) over windows of equal length, its band by
the sandwich of influence functions and Student's t. w (impulses of the vehicle) and k (constant of
the recorder, to be set to w) as in Reg. (EU) 165/2014, Annex I; km/h = 3600 * Hz / k.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from asfound.calc.clock_match import LONGEST_S, Speeds
from asfound.calc.student import t_quantile
from asfound.calc.wgs84 import steps_m
from asfound.model.drive_log import Track

Floats = NDArray[np.float64]

WINDOW_S = 60.0
"""Long against the receiver's lag, short enough that faults spoil few."""
GAP_S = 3.5
"""Between fixes or counts further apart than this, nothing is known."""
LEAST_M = 100.0
"""Windows with less of a way say nothing."""
LEAST_WINDOWS = 5
TUNING = 1.345
STANDING_MS = 0.5
"""Receivers show up to this much while a vehicle stands (twice the service's 0.2 m/s at 95 %: GPS
SPS Performance Standard, 5th ed., 2020, from memory)."""
SMOOTH = 5
"""Fixes over which positions are averaged where the receiver tells no speeds."""


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """``metres`` (n,) so far at ``times_s`` (n,); ``from_speeds``: by the receiver's speeds."""

    times_s: Floats
    metres: Floats
    from_speeds: bool


@dataclass(frozen=True, slots=True, eq=False)
class Windows:
    """Pulses (n,) and metres (n,) of the same seconds; ``left_out`` more had too little."""

    pulses: Floats
    metres: Floats
    left_out: int


@dataclass(frozen=True, slots=True)
class PulseRate:
    """``per_km`` with its 95 % band [imp/km]; ``off`` windows of ``windows`` that did not fit,
    ``spread`` [1] of the others around it."""

    per_km: float
    low: float
    high: float
    windows: int
    off: int
    spread: float


def count_of(times_s: Floats, hertz: Floats) -> Floats:
    """Pulses so far (n,) from frequencies (n,) [Hz] by trapezia."""
    steps = np.diff(times_s) * (hertz[1:] + hertz[:-1]) / 2
    return np.concatenate([[0.0], np.cumsum(steps)])


def pulse_speeds(times_s: Floats, counts: Floats) -> Speeds:
    """Pulses a second, at the middle between counts; nan where the counter began anew."""
    rates = np.diff(counts) / np.diff(times_s)
    return Speeds((times_s[1:] + times_s[:-1]) / 2, np.where(rates >= 0, rates, np.nan))


def way_of(track: Track) -> Way:
    """The way that a track covers. By the receiver's speeds (by Doppler shift, better than its
    positions) where most fixes have one, else by averaged positions."""
    known = np.isfinite(track.speed_ms)
    if known.mean() > 0.5:
        speed = np.interp(track.times_s, track.times_s[known], track.speed_ms[known])
        speed = np.where(speed < STANDING_MS, 0.0, speed)
        return Way(track.times_s, count_of(track.times_s, speed), True)
    placed = np.isfinite(track.lat_deg + track.lon_deg)
    if placed.sum() < 2:
        raise ValueError("neither speeds nor positions in it")
    columns = [each[placed] for each in (track.times_s, track.lat_deg, track.lon_deg)]
    cuts = np.flatnonzero(np.diff(columns[0]) > GAP_S) + 1
    # Times are averaged like positions: where fixes are lost, both lean the same way.
    times, lat, lon = (
        np.concatenate([_smooth(part) for part in np.split(each, cuts)]) for each in columns
    )
    return Way(times, np.concatenate([[0.0], np.cumsum(steps_m(lat, lon))]), False)


def way_speeds(way: Way) -> Speeds:
    """Speeds between the fixes of a way; nan over gaps."""
    steps = np.diff(way.times_s)
    speed = np.where(steps <= GAP_S, np.diff(way.metres) / steps, np.nan)
    return Speeds((way.times_s[1:] + way.times_s[:-1]) / 2, speed)


def windows_of(times_s: Floats, counts: Floats, way: Way) -> Windows:
    """Windows in which both logs are whole, none with a counter that began anew.

    Raises ValueError for logs of more than LONGEST_S.
    """
    start, end = max(times_s[0], way.times_s[0]), min(times_s[-1], way.times_s[-1])
    if end - start > LONGEST_S:
        raise ValueError(f"logs of more than {LONGEST_S / 86_400:g} days; cut them")
    edges = np.arange(start, end + 1e-6, WINDOW_S)
    pulses = np.diff(np.interp(edges, times_s, counts))
    metres = np.diff(np.interp(edges, way.times_s, way.metres))
    broken = np.zeros(len(pulses), np.bool_)
    for times, bad in (
        (times_s, (np.diff(times_s) > GAP_S) | (np.diff(counts) < 0)),
        (way.times_s, np.diff(way.times_s) > GAP_S),
    ):
        for index in np.flatnonzero(bad):
            first, last = np.searchsorted(edges, times[[index, index + 1]])
            broken[max(0, first - 1) : last] = True
    good = ~broken & (metres >= LEAST_M)
    return Windows(pulses[good], metres[good], int((~good).sum()))


def pulse_rate(windows: Windows) -> PulseRate | None:
    """The line through the origin; None with fewer than LEAST_WINDOWS or without pulses."""
    pulses, km = windows.pulses, windows.metres / 1000
    if len(pulses) < LEAST_WINDOWS or not (pulses > 0).any():
        return None
    w = float(np.median(pulses / km))
    scale = 0.0
    for _ in range(100):
        left = pulses - w * km
        # The median deviation of normal errors is 0.6745 of their standard deviation.
        scale = max(float(np.median(np.abs(left))) / 0.6745, 1e-9 * float(pulses.max()))
        weight = np.minimum(1.0, TUNING * scale / np.maximum(np.abs(left), 1e-12))
        new = float((weight * pulses) @ km / ((weight * km) @ km))
        if abs(new - w) <= 1e-12 * abs(new):
            break
        w = new
    left = pulses - w * km
    inside = np.abs(left) <= TUNING * scale
    push = np.clip(left, -TUNING * scale, TUNING * scale) * km
    steep = float((km[inside] ** 2).sum())
    n = len(pulses)
    sigma = float(np.sqrt((push**2).sum() * n / (n - 1))) / max(steep, 1e-12)
    reach = t_quantile(0.95, n - 1) * sigma
    off = int((np.abs(left) > 3 * scale).sum())
    return PulseRate(w, w - reach, w + reach, n, off, scale / (w * float(np.median(km))))


def _smooth(values: Floats) -> Floats:
    """Averaged over SMOOTH values, fewer at the ends."""
    kernel = np.ones(min(SMOOTH, len(values)))
    counted = np.convolve(np.ones(len(values)), kernel, "same")
    # Around the first value: sums of small figures keep their digits.
    made: Floats = np.convolve(values - values[0], kernel, "same") / counted + values[0]
    return made
