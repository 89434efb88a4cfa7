"""How fast a clock drifts, from how far it was off at several times.

    offset = recorder - true [s];  drift [ppm] = 1e6 * d(offset)/d(true);  10 ppm are 0.864 s a day

One line for all readings, with a jump wherever the clock was set in between: a gap whose change of
offset no drift explains. Huber's M-estimate (k = 1.345), each reading weighted by how well it is
known; band by Student's t. Two readings make a line but no band.

A tuning-fork crystal runs slower in cold and heat alike: about -0.034 ppm (T - 25)² (data sheets
say 0.034 to 0.042; from memory): -42 ppm at -10 and at 60 degrees Celsius.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from asfound.calc.student import t_quantile

Floats = NDArray[np.float64]

DAY_S = 86_400.0
BEYOND_PPM = 250.0
"""No crystal drifts like this: 100 ppm off plus -144 ppm at -40 degrees (data sheets, memory)."""
CALM_PPM = 2.0
"""Changes of drift that are nothing (own choice)."""
FINEST_S = 0.05
"""No reading is better than this (common practice)."""
TUNING = 1.345
MOST_DEVIATIONS = 4.0
YEARS = 10
TURN_C = 25.0
CURVE_PPM = 0.034


@dataclass(frozen=True, slots=True)
class OffsetRead:
    """At ``at_s`` [s since 1970, UTC] the clock was ``offset_s`` [s] ahead, to ``within_s``."""

    at_s: float
    offset_s: float
    within_s: float = 1.0


@dataclass(frozen=True, slots=True)
class Jump:
    """Between two readings [s since 1970] the clock was set by ``seconds``."""

    after_s: float
    before_s: float
    seconds: float


@dataclass(frozen=True, slots=True)
class Drift:
    """``ppm`` with its 95 % band (None: too few readings for one). ``read``: those that count, in
    the order of time; ``off``: those out of line. The rest is what a forecast from the last jump on
    needs: the middle of the readings since then, how well it is known, and Student's t."""

    ppm: float
    low_ppm: float | None
    high_ppm: float | None
    read: tuple[OffsetRead, ...]
    off: tuple[OffsetRead, ...]
    jumps: tuple[Jump, ...]
    centre_s: float
    centre_offset_s: float
    centre_error_s: float
    reach: float

    def offset_at(self, at_s: float) -> float:
        """The offset [s] to be expected at ``at_s``."""
        return self.centre_offset_s + self.ppm * 1e-6 * (at_s - self.centre_s)

    def error_at(self, at_s: float) -> float:
        """How far from that it may be [s], 95 %; nan without a band."""
        if self.high_ppm is None:
            return np.nan
        slope = (self.high_ppm - self.ppm) * 1e-6 * (at_s - self.centre_s)
        return float(np.hypot(self.reach * self.centre_error_s, slope))


@dataclass(frozen=True, slots=True)
class Passing:
    """When the offset passes what is allowed [s since 1970]: at the earliest, likely, at the
    latest; None: not within ten years, or no band."""

    earliest_s: float | None
    likely_s: float | None
    latest_s: float | None


def crystal_ppm(celsius: float) -> float:
    """How much slower a tuning-fork crystal runs than at its turning point [ppm]."""
    return -CURVE_PPM * (celsius - TURN_C) ** 2


def drift_of(readings: Sequence[OffsetRead]) -> Drift | None:
    """The drift; None when no two readings lie between the same two settings of the clock.

    Raises ValueError for fewer than two readings or two at one time.
    """
    ordered = sorted(readings, key=lambda one: one.at_s)
    if len(ordered) < 2 or any(first.at_s == last.at_s for first, last in pairwise(ordered)):
        raise ValueError("two readings at two times are needed at least")
    kept, off = _without_strays(ordered)
    jumped = _jumped(kept)
    segment = np.concatenate([[0], np.cumsum(jumped)])
    return _line(kept, tuple(off), segment)


def passing(drift: Drift, allowed_s: float, from_s: float) -> Passing:
    """When the clock is ``allowed_s`` off either way, from ``from_s`` on."""
    days = np.concatenate([np.arange(0, 100, 0.05), np.arange(100, YEARS * 366, 0.5)])
    times = from_s + days * DAY_S
    middle = np.array([drift.offset_at(at) for at in times])
    error = np.array([drift.error_at(at) for at in times])
    likely = _first(times, np.abs(middle) >= allowed_s)
    if drift.high_ppm is None:
        return Passing(None, likely, None)
    farthest = np.abs(middle) + error
    nearest = np.abs(middle) - error
    return Passing(
        _first(times, farthest >= allowed_s), likely, _first(times, nearest >= allowed_s)
    )


def _first(times: Floats, passed: NDArray[np.bool_]) -> float | None:
    return float(times[int(np.argmax(passed))]) if passed.any() else None


def _gaps(kept: Sequence[OffsetRead]) -> tuple[Floats, Floats, Floats]:
    """Lengths [s], changes of offset [s] and how well these are known [s] between readings."""
    at = np.array([one.at_s for one in kept])
    offset = np.array([one.offset_s for one in kept])
    within = np.array([max(one.within_s, FINEST_S) for one in kept])
    return np.diff(at), np.diff(offset), within[1:] + within[:-1]


def _usual(kept: Sequence[OffsetRead]) -> tuple[float, float]:
    """The drift [1] of most gaps and how far others may be from it."""
    length, change, _ = _gaps(kept)
    rates = change / length
    if len(rates) < 3:
        return 0.0, BEYOND_PPM * 1e-6
    order = np.argsort(rates)
    weight = np.cumsum(length[order])
    middle = float(rates[order][int(np.searchsorted(weight, weight[-1] / 2))])
    middle = float(np.clip(middle, -BEYOND_PPM * 1e-6, BEYOND_PPM * 1e-6))
    spread = 1.4826 * float(np.median(np.abs(rates - middle)))
    return middle, float(np.clip(MOST_DEVIATIONS * spread, CALM_PPM * 1e-6, BEYOND_PPM * 1e-6))


def _jumped(kept: Sequence[OffsetRead]) -> NDArray[np.bool_]:
    length, change, known = _gaps(kept)
    middle, spread = _usual(kept)
    made: NDArray[np.bool_] = np.abs(change - middle * length) > known + spread * length
    return made


def _without_strays(ordered: Sequence[OffsetRead]) -> tuple[list[OffsetRead], list[OffsetRead]]:
    """Readings without those that jump out of the line and back into it."""
    kept, off = list(ordered), []
    while len(kept) > 3:
        jumped = _jumped(kept)
        for index in range(1, len(kept) - 1):
            if not (jumped[index - 1] and jumped[index]):
                continue
            rest = kept[:index] + kept[index + 1 :]
            if not _jumped(rest)[index - 1]:
                off.append(kept[index])
                kept = rest
                break
        else:
            break
    return kept, off


def _line(
    kept: Sequence[OffsetRead], off: tuple[OffsetRead, ...], segment: NDArray[np.int_]
) -> Drift | None:
    at = np.array([one.at_s for one in kept])
    offset = np.array([one.offset_s for one in kept])
    # A reading that holds the truth within w is spread evenly: standard deviation w / root 3.
    known = np.array([max(one.within_s, FINEST_S) for one in kept]) / np.sqrt(3)
    groups = int(segment[-1]) + 1
    freedom = len(kept) - groups - 1
    if len(kept) == groups:
        return None
    robust, scale, slope = np.ones(len(kept)), 1.0, 0.0
    for _ in range(50):
        weight = robust / known**2
        total = np.bincount(segment, weight)
        time0 = (np.bincount(segment, weight * (at - at[0])) / total)[segment] + at[0]
        mean = (np.bincount(segment, weight * offset) / total)[segment]
        base = float((weight * (at - time0) ** 2).sum())
        slope = float((weight * (at - time0) * (offset - mean)).sum()) / base
        left = (offset - mean - slope * (at - time0)) / known
        if freedom < 1:
            break
        # Never finer than the readings themselves are said to be.
        scale = max(1.0, float(np.sqrt((robust * left**2).sum() / freedom)))
        robust = np.minimum(1.0, TUNING * scale / np.maximum(np.abs(left), 1e-9))
    reach = t_quantile(0.95, freedom) if freedom > 0 else np.nan
    error = scale / np.sqrt(base) * reach * 1e6
    last = segment == segment[-1]
    shift = np.diff(mean - slope * time0)
    jumps = tuple(
        Jump(float(at[n]), float(at[n + 1]), float(shift[n]))
        for n in np.flatnonzero(np.diff(segment)).tolist()
    )
    ppm = slope * 1e6
    return Drift(
        ppm,
        ppm - error if freedom > 0 else None,
        ppm + error if freedom > 0 else None,
        tuple(kept),
        off,
        jumps,
        float(time0[-1]),
        float(mean[-1]),
        float(scale / np.sqrt((robust / known**2)[last].sum())),
        float(reach),
    )
