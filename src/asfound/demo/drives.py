"""Drives of an invented bus, lorry or van as its sensors would log them; the truth stays known.

The vehicle's own acceleration comes first: pulling away, cruising, bends, turns, stops, and now
and then something harsh; ordinary and harsh overlap, as they do between those who judge them. Roads
add roughness, potholes and kerbs, the engine its vibration, the body its roll and pitch, hills a
share of gravity. Only then the sensor: turned anyhow, with offset, scale, noise and steps; and the
satellite receiver, late and smoothed. Amplitudes are common practice, no source. Detectors never
import this.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from asfound.demo.drive_road import bumps, engine, roughness
from asfound.model.drive_log import Acceleration, Label, Track

Floats = NDArray[np.float64]

INNER_HZ = 200.0
G = 9.80665
START_S = 1_790_000_000.0
"""21 September 2026, a Monday."""
METRES_A_DEGREE = 111_195.0


@dataclass(frozen=True, slots=True)
class Vehicle:
    """What it does on an ordinary day, and how firmly it sits on the road."""

    name: str
    pull: tuple[float, float]
    brake: tuple[float, float]
    turn: tuple[float, float]
    cruise: tuple[float, float]
    harsh_pull: tuple[float, float]
    harsh_brake: tuple[float, float]
    harsh_turn: tuple[float, float]
    rough: float
    shake: float


BUS = Vehicle(
    "bus", (0.5, 1.5), (0.5, 2.6), (0.6, 2.6), (7, 14), (1.8, 2.8), (2.6, 5.5), (2.5, 4.2), 0.7, 0.9
)
LORRY = Vehicle(
    "lorry",
    (0.3, 1.2),
    (0.4, 2.5),
    (0.5, 2.3),
    (10, 23),
    (1.4, 2.4),
    (2.6, 5.2),
    (2.2, 3.8),
    1.0,
    1.1,
)
VAN = Vehicle(
    "van", (0.6, 2.4), (0.6, 3.2), (0.8, 3.3), (8, 25), (2.6, 4.2), (3.2, 7.0), (3.2, 5.8), 0.6, 0.6
)
VEHICLES = (BUS, LORRY, VAN)


@dataclass(frozen=True, slots=True, eq=False)
class Drive:
    """The logs, and what was true: rows of ``axes`` (3, 3) are the vehicle's forward, left and up
    in the sensor's axes; the receiver is ``lag_s`` late."""

    acceleration: Acceleration
    track: Track
    labels: tuple[Label, ...]
    axes: Floats
    lag_s: float


@dataclass(frozen=True, slots=True)
class Conditions:
    """How a drive is logged. ``harsh``: how many harsh things in an hour; ``offset_ms2``: the
    sensor's own; ``upright``: mounted square, x forward, z up."""

    rate_hz: float = 25.0
    harsh_an_hour: float = 30.0
    noise_ms2: float = 0.05
    offset_ms2: float = 0.15
    upright: bool = False


def drive(
    seed: int, minutes: float, vehicle: Vehicle = BUS, conditions: Conditions | None = None
) -> Drive:
    """One drive; the same for the same arguments."""
    how = conditions or Conditions()
    draw = np.random.default_rng(seed)
    count = int(minutes * 60 * INNER_HZ)
    along, left, labels = _driven(draw, count, vehicle, how.harsh_an_hour)
    speed = np.maximum(np.cumsum(along) / INNER_HZ, 0.0)
    body = np.stack([along, left, np.zeros(count)], axis=1)
    body += roughness(draw, speed, vehicle.rough) + engine(draw, speed, vehicle.shake)
    body += bumps(draw, speed, vehicle.rough)
    # Pitch and roll tilt the sensor against gravity; a slope does for minutes.
    body[:, 0] += G * (0.008 * along + _slow(draw, count, 40.0) * 0.02)
    body[:, 1] += G * (0.010 * left + _slow(draw, count, 30.0) * 0.012)
    body[:, 2] += G
    axes = np.eye(3) if how.upright else _turned(draw)
    log = _sensed(draw, body @ axes, how)
    lag = float(draw.uniform(0.2, 1.6))
    return Drive(log, _tracked(draw, speed, left, lag), labels, axes, lag)


def _driven(
    draw: np.random.Generator, count: int, vehicle: Vehicle, harsh_an_hour: float
) -> tuple[Floats, Floats, tuple[Label, ...]]:
    """Acceleration along and to the left, jerk-limited, and what was harsh."""
    along, left = np.zeros(count), np.zeros(count)
    labels = []
    at, speed = int(draw.uniform(5, 20) * INNER_HZ), 0.0
    chance = harsh_an_hour / 55.0  # about so many acts begin in an hour
    while at < count - 40 * INNER_HZ:
        harsh = bool(draw.random() < chance)
        if speed < 2:
            act, rate, seconds = (
                "pull",
                draw.uniform(*(vehicle.harsh_pull if harsh else vehicle.pull)),
                0.0,
            )
            seconds = min(
                draw.uniform(*vehicle.cruise) / rate, draw.uniform(2.2, 3.6) if harsh else 30
            )
        else:
            act = str(
                draw.choice(
                    ["brake", "turn", "turn", "swerve"] if harsh else ["brake", "turn", "turn"]
                )
            )
            span = vehicle.harsh_brake if harsh else vehicle.brake
            rate, seconds = draw.uniform(*span), 0.0
            seconds = speed / rate if draw.random() < 0.5 else speed * draw.uniform(0.4, 0.9) / rate
            if act in ("turn", "swerve"):
                rate = draw.uniform(*(vehicle.harsh_turn if harsh else vehicle.turn)) * draw.choice(
                    [-1, 1]
                )
                seconds = draw.uniform(1.4, 3.5) if harsh else draw.uniform(2.0, 8.0)
        end = at + max(1, int(seconds * INNER_HZ))
        if act == "pull":
            along[at:end] = rate
            speed += rate * seconds
        elif act == "brake":
            along[at:end] = -rate
            speed = max(0.0, speed - rate * seconds)
        elif act == "turn":
            left[at:end] = rate
        else:
            half = (at + end) // 2
            left[at:half], left[half:end] = rate, -rate
        if harsh:
            slip = draw.uniform(-0.3, 0.5, 2)
            begin, stop = START_S + at / INNER_HZ - slip[0], START_S + end / INNER_HZ + slip[1]
            labels.append(Label(begin, max(begin, stop), f"harsh {act}"))
        at = end + int(draw.exponential(18 if speed > 2 else 12) * INNER_HZ) + int(4 * INNER_HZ)
    kernel = np.hanning(int(0.5 * INNER_HZ))
    kernel /= kernel.sum()
    smooth = [np.convolve(each, kernel, "same") for each in (along, left)]
    jitter = _slow(draw, count, 1.5) * 0.18
    moving = np.cumsum(smooth[0]) / INNER_HZ > 1
    return smooth[0], smooth[1] + jitter * moving, tuple(labels)


def _slow(draw: np.random.Generator, count: int, seconds: float) -> Floats:
    """Wandering of about 1 either way over ``seconds``."""
    steps = int(count / INNER_HZ / seconds) + 4
    return np.asarray(
        np.interp(np.arange(count) / INNER_HZ, np.arange(steps) * seconds, draw.normal(0, 1, steps))
    )


def _turned(draw: np.random.Generator) -> Floats:
    """Any turn (3, 3), all alike likely."""
    made, _ = np.linalg.qr(draw.normal(size=(3, 3)))
    if np.linalg.det(made) < 0:
        made[:, 0] = -made[:, 0]
    return np.asarray(made)


def _sensed(draw: np.random.Generator, sensor: Floats, how: Conditions) -> Acceleration:
    step = INNER_HZ / how.rate_hz
    # A sensor's own low-pass leaves some of what lies above half its rate.
    width = max(1, round(step * 0.5))
    smooth = np.stack(
        [np.convolve(each, np.ones(width) / width, "same") for each in sensor.T], axis=1
    )
    places = np.arange(0, len(sensor) - 1, step)
    ticks = np.arange(len(sensor))
    xyz = np.stack([np.interp(places, ticks, each) for each in smooth.T], axis=1)
    xyz = xyz * draw.uniform(0.99, 1.01, 3) + draw.normal(0, how.offset_ms2, 3)
    xyz += draw.normal(0, how.noise_ms2, xyz.shape)
    grain = G / 256
    return Acceleration(START_S + places / INNER_HZ, np.round(xyz / grain) * grain)


def _tracked(draw: np.random.Generator, speed: Floats, left: Floats, lag: float) -> Track:
    count = len(speed)
    turning = np.where(speed > 0.5, left / np.maximum(speed, 2.0), 0.0)
    heading = draw.uniform(0, 2 * np.pi) - np.cumsum(turning) / INNER_HZ
    east = np.cumsum(speed * np.sin(heading)) / INNER_HZ
    north = np.cumsum(speed * np.cos(heading)) / INNER_HZ
    seconds = np.arange(2, int(count / INNER_HZ))
    seen = ((seconds - lag) * INNER_HZ).clip(0, count - 1)
    ticks = np.arange(count)
    width = int(0.6 * INNER_HZ)
    even = np.convolve(speed, np.ones(width) / width, "same")
    told = np.interp(seen, ticks, even)
    course: Floats = np.degrees(np.interp(seen, ticks, heading))
    course += draw.normal(0, 1, len(seconds)) * (1.0 + 12.0 / (1.0 + told))
    drift = draw.normal(0, 1.5, (2, len(seconds)))
    lat: Floats = 51.0 + (np.interp(seen, ticks, north) + drift[0]) / METRES_A_DEGREE
    lon: Floats = 7.0 + (np.interp(seen, ticks, east) + drift[1]) / (
        METRES_A_DEGREE * np.cos(np.radians(51.0))
    )
    noisy = np.maximum(told + draw.normal(0, 0.12, len(seconds)), 0.0)
    columns = (START_S + seconds, lat, lon, noisy, course % 360)
    return Track(*(np.asarray(each, np.float64) for each in columns))
