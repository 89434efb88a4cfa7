"""What roads and engines add to a vehicle's own acceleration. Amplitudes: common practice, no
source."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

INNER_HZ = 200.0


def roughness(draw: np.random.Generator, speed: Floats, size: float) -> Floats:
    """Noise (n, 3) [m/s²] of the road through springs and tyres, more of it at speed."""
    count = len(speed)
    made = np.zeros((count, 3))
    surface = np.repeat(draw.gamma(3.0, 1 / 3.0, count // 4000 + 1), 4000)[:count]
    for axis, share in enumerate((0.25, 0.3, 1.0)):
        white = np.fft.rfft(draw.normal(0, 1, count))
        hz = np.fft.rfftfreq(count, 1 / INNER_HZ)
        body = 1 / np.sqrt((1 - (hz / 1.7) ** 2) ** 2 + (0.6 * hz / 1.7) ** 2)
        axle = 0.5 / np.sqrt((1 - (hz / 11.0) ** 2) ** 2 + (0.35 * hz / 11.0) ** 2)
        shape = (body + axle) * (hz > 0.3) / (1 + (hz / 25.0) ** 4)
        noise = np.fft.irfft(white * shape, count)
        made[:, axis] = noise / noise.std() * share
    return made * (size * surface * np.sqrt(speed / 15.0))[:, None]


def engine(draw: np.random.Generator, speed: Floats, size: float) -> Floats:
    """Vibration (n, 3) [m/s²] of an engine, idle or pulling, in a direction of its own."""
    count = len(speed)
    turning = 22.0 + draw.uniform(-3, 3) + 2.5 * np.minimum(speed, 10.0)
    turning = turning + np.interp(
        np.arange(count),
        np.arange(0, count + 4000, 4000),
        draw.normal(0, 1.5, len(np.arange(0, count + 4000, 4000))),
    )
    phase = 2 * np.pi * np.cumsum(turning) / INNER_HZ
    along = draw.normal(0, 1, 3)
    along *= size / np.linalg.norm(along)
    loud = np.where(speed < 1, 1.0, 0.7)
    return np.asarray((np.sin(phase) * loud)[:, None] * along)


def bumps(draw: np.random.Generator, speed: Floats, size: float) -> Floats:
    """Potholes, covers and kerbs (n, 3) [m/s²]: short, mostly upright, felt along and across."""
    count = len(speed)
    made = np.zeros((count, 3))
    length = int(1.5 * INNER_HZ)
    time = np.arange(length) / INNER_HZ
    for at in draw.integers(0, count - length, int(count / INNER_HZ / 14)):
        if speed[at] < 1.5:
            continue
        strong = draw.gamma(1.6, 5.0) * np.sqrt(speed[at] / 12.0) * (0.6 + size)
        blow = np.sin(2 * np.pi * draw.uniform(7, 14) * time) * np.exp(
            -time / draw.uniform(0.06, 0.18)
        )
        sway = np.sin(2 * np.pi * draw.uniform(1.2, 2.0) * time) * np.exp(-time / 0.4) * 0.35
        made[at : at + length, 2] += strong * (blow + sway)
        made[at : at + length, 0] -= strong * draw.uniform(0.1, 1.1) * blow
        made[at : at + length, 1] += strong * draw.uniform(-0.9, 0.9) * (blow + 0.4 * sway)
    return made
