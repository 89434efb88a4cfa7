"""How an acceleration sensor sits in its vehicle: which way is up, and which way is forward.

**Up.** A sensor at rest measures gravity's counterforce, 9.80665 m/s² upwards. Braking and
cornering go both ways and pass, so the middle (geometric median) of the acceleration in quiet
times is gravity, in the sensor's own axes. From it, roll = atan2(ay, az) and
pitch = atan2(-ax, sqrt(ay² + az²)) (tilt of a static accelerometer; from memory).

**Forward.** Gravity says nothing about heading. Between two satellite fixes the vehicle's own
acceleration is known: along it the change of speed, across it speed times turn rate (left
positive). With the level part of the measured acceleration as complex figures h and the
vehicle's as z = along + i left, the turn between both is the one that fits best in least squares,

    angle = arg sum(h conj(z)),

found at the lag of the receiver at which |sum(h conj z)| is largest in proportion. Receivers smooth
their speed and tell it late; a lag left out turns the axis by tens of degrees.

Errors are one standard error, from leaving out a twentieth of the log each time (jackknife;
Efron, Tibshirani, *An Introduction to the Bootstrap*, 1993, chapter 11, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, atan2, degrees, hypot, sqrt

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

GRAVITY_MS2 = 9.80665
"""Standard gravity (3rd CGPM, 1901)."""

PARTS = 20
QUIET_MS2 = 0.25
"""Spread within two seconds up to which a time is quiet (own choice)."""
LEAST_QUIET = 50
"""Bins: ten seconds in all (own choice)."""
LAGS_S = np.arange(-0.5, 4.01, 0.1)
"""Lags of a receiver that are tried [s]; phones tell their speed up to 1.5 s late."""
LEAST_PAIRS = 25
"""Changes of speed or course that say something (own choice)."""
TELLING_MS2 = 0.4
LEAST_FIT = 0.3
"""Correlation of measured and vehicle's acceleration below which they do not belong together."""
OFFSET_DEG = 0.6
"""What a sensor's own offset of 0.1 m/s² turns gravity by (common practice, no source)."""
MOST_ERROR_DEG = 20.0
"""A forward axis known no better than this is not known (own choice)."""
TURNING_MS = 4.0
"""Below, a receiver's course says nothing (common practice, no source)."""
MOST_MS2 = 9.0
"""No vehicle on tyres changes its speed by more; a fix that says so is wrong."""


@dataclass(frozen=True, slots=True, eq=False)
class Means:
    """Acceleration (n, 3) [m/s²] averaged over equal bins of ``width_s``, their middles at
    ``times_s`` (n,) [s]; bins without samples are left out."""

    times_s: Floats
    xyz_ms2: Floats
    width_s: float


@dataclass(frozen=True, slots=True, eq=False)
class Up:
    """``axis`` (3,), of length 1, points up; ``rest_ms2`` (3,): what the sensor measures at rest;
    ``error_deg``: one standard error, the sensor's own offset included as far as it shows."""

    axis: Floats
    rest_ms2: Floats
    error_deg: float


@dataclass(frozen=True, slots=True, eq=False)
class Forward:
    """``axis`` (3,), of length 1, points forward and is level; one standard error; the receiver's
    ``lag_s``; ``fit``: correlation of what was measured and what the track says."""

    axis: Floats
    error_deg: float
    lag_s: float
    fit: float


def tilt_deg(rest: Floats) -> tuple[float, float]:
    """Roll and pitch [degrees] of a sensor that measures ``rest`` (3,) at rest."""
    x, y, z = (float(each) for each in rest)
    return degrees(atan2(y, z)), degrees(atan2(-x, hypot(y, z)))


def middle(points: Floats) -> Floats:
    """Geometric median (3,) of ``points`` (n, 3), by Weiszfeld's steps."""
    at: Floats = np.median(points, axis=0)
    for _ in range(30):
        weights = 1 / np.maximum(np.linalg.norm(points - at, axis=1), 1e-6)
        new = weights @ points / weights.sum()
        if np.linalg.norm(new - at) < 1e-7:
            return np.asarray(new)
        at = new
    return at


def quiet_bins(means: Means) -> NDArray[np.bool_]:
    """Which bins (n,) lie in quiet times: standing, or driving evenly."""
    window = max(2, round(2.0 / means.width_s))
    if len(means.times_s) < window:
        return np.ones(len(means.times_s), np.bool_)
    view = np.lib.stride_tricks.sliding_window_view(means.xyz_ms2, window, axis=0)
    still = view.std(axis=2).max(axis=1) < QUIET_MS2
    found = np.zeros(len(means.times_s), np.bool_)
    for shift in range(window):
        found[shift : shift + len(still)] |= still
    return found


def find_up(means: Means, standing: NDArray[np.bool_] | None = None) -> Up | None:
    """Up, from the bins that are ``standing`` (n,) where enough are, else from quiet ones, else
    from all. None when the log is too short, or what it measures at rest is not gravity."""
    if len(means.times_s) < LEAST_QUIET:
        return None
    wanted = quiet_bins(means)
    if standing is not None and (standing & wanted).sum() >= LEAST_QUIET:
        wanted &= standing
    chosen = means.xyz_ms2[wanted] if wanted.sum() >= LEAST_QUIET else means.xyz_ms2
    rest = middle(chosen)
    size = float(np.linalg.norm(rest))
    if not 0.8 * GRAVITY_MS2 < size < 1.2 * GRAVITY_MS2:
        return None
    axis = rest / size
    parts = [middle(part) for part in np.array_split(chosen, 10)]
    off = [_angle_deg(part / max(float(np.linalg.norm(part)), 1e-9), axis) for part in parts]
    spread = sqrt(sum(each**2 for each in off) / len(off) / (len(off) - 1))
    # The part of an offset that lies along gravity is seen; as much may lie across it each way.
    offset = degrees(asin(min(1.0, abs(size - GRAVITY_MS2) / GRAVITY_MS2))) * sqrt(2)
    return Up(axis, rest, hypot(spread, offset, OFFSET_DEG))


def find_forward(means: Means, up: Up, motion: Motion) -> Forward | None:
    """Forward, from the vehicle's ``motion``; None when that does not tell it."""
    first, second = level_axes(up.axis)
    level = (means.xyz_ms2 - up.rest_ms2) @ np.stack([first, second], axis=1)
    run = _Integral(means, level[:, 0] + 1j * level[:, 1])
    telling = np.abs(motion.own) > TELLING_MS2
    if telling.sum() < LEAST_PAIRS:
        return None
    fits = np.array([_fit(*run.over(motion, lag)) for lag in LAGS_S])
    lag = _peak(LAGS_S, fits)
    measured, own = run.over(motion, lag)
    if len(own) < LEAST_PAIRS or (fit := _fit(measured, own)) < LEAST_FIT:
        return None
    angle = _turn(measured, own)
    error = _jackknife_deg(measured, own, angle)
    if error > MOST_ERROR_DEG:
        return None
    # Measured = own turned by the angle: own "along" lies there.
    axis = np.cos(angle) * first + np.sin(angle) * second
    return Forward(axis, hypot(error, up.error_deg), lag, fit)


@dataclass(frozen=True, slots=True, eq=False)
class Motion:
    """What a track says of a vehicle between fixes ``from_s`` and ``to_s`` (n,): its ``own``
    acceleration (n,) [m/s²], real part forward, imaginary part to the left (0: unknown)."""

    from_s: Floats
    to_s: Floats
    own: Complexes


def motion_of(times_s: Floats, speed_ms: Floats, course_deg: Floats) -> Motion:
    """The vehicle's own acceleration between fixes of about a second apart; what speed or time
    leaves out is left out."""
    keep = _each_second(times_s, np.isfinite(speed_ms))
    times, speed, course = times_s[keep], speed_ms[keep], course_deg[keep]
    apart = np.diff(times)
    fine = (apart > 0.5) & (apart < 3.0)
    apart = np.where(fine, apart, 1.0)
    along = np.diff(speed) / apart
    mean = (speed[:-1] + speed[1:]) / 2
    right = (np.diff(course) + 180) % 360 - 180
    left = -mean * np.radians(right) / apart
    known = np.isfinite(left) & (np.minimum(speed[:-1], speed[1:]) > TURNING_MS)
    left = np.where(known, left, 0.0)
    fine &= (np.abs(along) < MOST_MS2) & (np.abs(left) < MOST_MS2)
    return Motion(times[:-1][fine], times[1:][fine], (along + 1j * left)[fine])


def level_axes(up: Floats) -> tuple[Floats, Floats]:
    """Two axes (3,) at right angles to ``up`` and to each other; with it right-handed."""
    helper = np.eye(3)[int(np.argmin(np.abs(up)))]
    first = helper - (helper @ up) * up
    first /= np.linalg.norm(first)
    return first, np.cross(up, first)


def axes_of(up: Floats, forward: Floats) -> Floats:
    """(3, 3): forward, left and up as rows; ``forward`` is made level first.

    Raises ValueError when both are the same direction."""
    level = forward - (forward @ up) * up
    size = float(np.linalg.norm(level))
    if size < sqrt(0.5) / 10:
        raise ValueError("forward and up are the same direction")
    level = level / size
    return np.stack([level, np.cross(up, level), up])


class _Integral:
    """Level acceleration that can be averaged between any two times."""

    def __init__(self, means: Means, level: Complexes) -> None:
        width = means.width_s
        place = np.rint((means.times_s - means.times_s[0]) / width).astype(np.int64)
        filled = np.zeros(int(place[-1]) + 1, np.complex128)
        filled[place] = level
        self.start = float(means.times_s[0]) - width / 2
        self.width = width
        self.sum = np.zeros(len(filled) + 1, np.complex128)
        self.sum[1:] = np.cumsum(filled) * width
        has = np.zeros(len(filled))
        has[place] = 1.0
        self.has = np.concatenate([[0.0], np.cumsum(has)]) * width

    def over(self, motion: Motion, lag: float) -> tuple[Complexes, Complexes]:
        """Measured and own acceleration where the log has samples for (nearly) all of the time."""
        since, until = motion.from_s - lag - self.start, motion.to_s - lag - self.start
        edges = np.arange(len(self.sum)) * self.width
        seen = np.interp(until, edges, self.has) - np.interp(since, edges, self.has)
        fine = seen > 0.95 * (until - since)
        gained = np.interp(until, edges, self.sum) - np.interp(since, edges, self.sum)
        measured: Complexes = gained[fine] / (until - since)[fine]
        own = motion.own[fine]
        if len(own):
            measured = measured - np.median(measured.real) - 1j * np.median(measured.imag)
        return measured, own


def _fit(measured: Complexes, own: Complexes) -> float:
    size = sqrt(float(np.vdot(measured, measured).real) * float(np.vdot(own, own).real))
    return float(abs(np.vdot(own, measured))) / size if size > 0 else 0.0


def _turn(measured: Complexes, own: Complexes) -> float:
    """The angle [rad], bumps and wrong fixes counting less (Huber's weights)."""
    weights = np.ones(len(own))
    angle = 0.0
    for _ in range(8):
        angle = float(np.angle(np.sum(weights * measured * own.conj())))
        off = np.abs(measured - np.exp(1j * angle) * own)
        limit = 1.5 * float(np.median(off)) + 1e-9
        weights = np.minimum(1.0, limit / np.maximum(off, 1e-9))
    return angle


def _jackknife_deg(measured: Complexes, own: Complexes, angle: float) -> float:
    parts = np.array_split(np.arange(len(own)), min(PARTS, len(own)))
    off = []
    for part in parts:
        keep = np.ones(len(own), np.bool_)
        keep[part] = False
        off.append(float(np.angle(np.exp(1j * (_turn(measured[keep], own[keep]) - angle)))))
    count = len(off)
    middle_off = sum(off) / count
    return degrees(sqrt((count - 1) / count * sum((each - middle_off) ** 2 for each in off)))


def _peak(x: Floats, y: Floats) -> float:
    """Where ``y`` is highest, between the steps of ``x`` by a parabola."""
    at = int(np.argmax(y))
    if not 0 < at < len(y) - 1:
        return float(x[at])
    below, here, above = (float(each) for each in y[at - 1 : at + 2])
    bend = below - 2 * here + above
    shift = 0.0 if bend == 0 else 0.5 * (below - above) / bend
    return float(x[at] + shift * (x[1] - x[0]))


def _each_second(times: Floats, known: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Places of fixes that are known and 0.9 s apart at least."""
    places = np.flatnonzero(known)
    if len(places) < 2 or float(np.median(np.diff(times[places]))) > 0.9:
        return places
    slots = np.floor((times[places] - times[places[0]]) + 0.05).astype(np.int64)
    first = np.concatenate([[True], np.diff(slots) > 0])
    return np.asarray(places[first])


def _angle_deg(one: Floats, other: Floats) -> float:
    return degrees(float(np.arccos(np.clip(one @ other, -1, 1))))
