"""Speed triggers: how often a limit would be passed, for many limits at once.

An event begins with the first fix faster than limit + tolerance and ends with the last such fix in
a row; it counts when that takes as long as the minimum duration or longer. Fixes further apart than
GAP_S are in no row: nobody knows what happened between.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

GAP_S = 3.5


@dataclass(frozen=True, slots=True)
class Passage:
    """A limit passed: first and last fix above it [s since 1970], highest speed [m/s], and the fix
    of that (index into the track)."""

    start_s: float
    end_s: float
    top_ms: float
    at: int


def passages(
    times_s: Floats, speed_ms: Floats, above_ms: float, least_s: float
) -> tuple[Passage, ...]:
    """Each time that speeds (n,) [m/s] at ``times_s`` (n,) [s, growing] stay above ``above_ms`` for
    ``least_s`` [s] or longer."""
    fast = np.nan_to_num(speed_ms, nan=0.0) > above_ms
    if not fast.any():
        return ()
    linked = fast[1:] & fast[:-1] & (np.diff(times_s) <= GAP_S)
    starts = np.flatnonzero(fast & ~np.concatenate([[False], linked]))
    ends = np.flatnonzero(fast & ~np.concatenate([linked, [False]]))
    made = []
    for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
        if times_s[end] - times_s[start] >= least_s:
            at = start + int(np.argmax(speed_ms[start : end + 1]))
            made.append(
                Passage(float(times_s[start]), float(times_s[end]), float(speed_ms[at]), at)
            )
    return tuple(made)


def counts_over(
    times_s: Floats, speed_ms: Floats, above_ms: Sequence[float], least_s: Sequence[float]
) -> NDArray[np.int_]:
    """Events (limits, durations) for each of ``above_ms`` [m/s] and each of ``least_s`` [s]."""
    made = np.zeros((len(above_ms), len(least_s)), np.int_)
    near = np.diff(times_s) <= GAP_S
    speeds = np.nan_to_num(speed_ms, nan=0.0)
    wanted = np.asarray(least_s)
    for row, above in enumerate(above_ms):
        fast = speeds > above
        linked = fast[1:] & fast[:-1] & near
        starts = times_s[fast & ~np.concatenate([[False], linked])]
        ends = times_s[fast & ~np.concatenate([linked, [False]])]
        lengths = np.sort(ends - starts)
        made[row] = len(lengths) - np.searchsorted(lengths, wanted, "left")
    return made


def known_seconds(times_s: Floats, speed_ms: Floats) -> float:
    """Seconds between fixes with a speed that are near enough to each other."""
    known = np.isfinite(speed_ms)
    steps = np.diff(times_s)
    return float(steps[known[1:] & known[:-1] & (steps <= GAP_S)].sum())
