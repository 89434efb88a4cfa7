"""Drives with known clocks, speeds and wheels, and what devices on board would log of them.

Invented: town and road driving with stops; a receiver with lag, wandering positions, tunnels and
lost fixes; a recorder that shows whole km/h; a pulse counter that misses some. Seeds below 1000 are
for tuning, those from 1000 on for tests and measures.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from asfound.model.drive_log import Track

Floats = NDArray[np.float64]
RATE = 10
START_S = 1_780_000_000.0
METRES_A_DEGREE = 111_132.95
"""Of latitude near 45 degrees north on WGS 84."""


@dataclass(frozen=True)
class Drive:
    """True seconds since START_S, speed [m/s], distance [m], heading [rad] at RATE a second."""

    times: Floats
    speed: Floats
    metres: Floats
    heading: Floats


def drive(seed: int, minutes: float) -> Drive:
    """Stops, accelerations and cruising of a heavy vehicle."""
    random = np.random.default_rng([seed, 1])
    size = int(minutes * 60 * RATE)
    wanted, push = np.zeros(size), np.zeros(size)
    at = 0
    while at < size:
        stops = random.random() < 0.3
        hold = int(RATE * (random.uniform(8, 60) if stops else random.uniform(15, 90)))
        wanted[at : at + hold] = (
            0 if stops else random.choice([8, 13, 17, 23]) * random.normal(1, 0.1)
        )
        push[at : at + hold] = random.uniform(0.5, 1.4)
        at += hold
    speed, swing = np.zeros(size), 0.0
    for n in range(1, size):
        swing = 0.98 * swing + random.normal(0, 0.03)
        step = np.clip(wanted[n] + swing * 3 - speed[n - 1], -1.3 * push[n], push[n]) / RATE
        speed[n] = max(0.0, speed[n - 1] + step) if wanted[n] or speed[n - 1] > 0.2 else 0.0
    turn = random.normal(0, 0.01, size) * (speed > 1)
    return Drive(
        np.arange(size) / RATE, speed, np.cumsum(speed) / RATE, np.cumsum(turn) / np.sqrt(RATE)
    )


def receiver(
    made: Drive, seed: int, lag: float = 0.3, speeds: bool = True, tunnels: int = 2
) -> Track:
    """A fix a second, late by ``lag`` [s]; with tunnels, and one fix in fifty lost."""
    random = np.random.default_rng([seed, 2])
    at = np.arange(2.0, made.times[-1])
    late = at - lag
    north = np.cumsum(made.speed * np.cos(made.heading)) / RATE
    east = np.cumsum(made.speed * np.sin(made.heading)) / RATE
    wander = np.zeros((len(at), 2))
    for n in range(1, len(at)):
        wander[n] = 0.995 * wander[n - 1] + random.normal(0, 0.15, 2)
    place = np.stack([np.interp(late, made.times, each) for each in (north, east)], 1)
    place += wander + random.normal(0, 0.1, place.shape)
    speed = np.abs(np.interp(late, made.times, made.speed) + random.normal(0, 0.15, len(at)))
    kept = random.random(len(at)) > 0.02
    for start in random.uniform(0, at[-1], tunnels):
        kept &= (at < start) | (at > start + random.uniform(15, 90))
    lat = 45 + place[:, 0] / METRES_A_DEGREE
    lon = 9 + place[:, 1] / (METRES_A_DEGREE * np.cos(np.radians(45)) * 1.0034)
    nothing = np.full(len(at), np.nan)
    columns = (at + START_S, lat, lon, speed if speeds else nothing, nothing)
    return Track(*(each[kept] for each in columns))


def recorder(made: Drive, seed: int, offset: float, cut: tuple[float, float]) -> Track:
    """Whole km/h each second by a clock that is ahead by ``offset`` [s], of the part ``cut``."""
    random = np.random.default_rng([seed, 3])
    at = np.arange(cut[0], cut[1]) + random.random()
    speed = np.interp(at, made.times, made.speed) + random.normal(0, 0.1, len(at))
    shown = np.maximum(np.round(speed * 3.6), 0) / 3.6
    nothing = np.full(len(at), np.nan)
    return Track(at + START_S + offset, nothing, nothing, shown, nothing)


def pulse_counts(
    made: Drive, seed: int, per_km: float, offset: float = 0.0, missed: float = 0.03
) -> tuple[Floats, Floats]:
    """(times [s], pulses so far) each second; in a share ``missed`` of minutes a tenth is lost."""
    random = np.random.default_rng([seed, 4])
    at = np.arange(0.0, made.times[-1])
    metres = np.interp(at, made.times, made.metres)
    step = np.diff(metres, prepend=0.0) * per_km / 1000
    lost = random.random(int(at[-1] // 60) + 1) < missed
    step *= np.where(lost[(at // 60).astype(int)], 0.9, 1.0)
    return at + START_S + offset, np.floor(np.cumsum(step))
