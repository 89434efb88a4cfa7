"""Which fixes of a log can be true: times that go on, positions that a vehicle can reach.

Receivers repeat fixes, jump in time when they first learn it, and in place where buildings
reflect. The rule is the same for both: the most fixes that agree with each other stay.
"""

from __future__ import annotations

from bisect import bisect_left

import numpy as np
from numpy.typing import NDArray

from asfound.calc.wgs84 import Floats, distances_m, steps_m

FASTEST_MS = 70.0
"""No lorry or bus drives 252 km/h (common practice, no source)."""
SLACK_M = 100.0
"""What a receiver may be off between two fixes and still be believed (common practice)."""
ENOUGH = 5
"""So many fixes that agree with each other are believed beside others (own choice)."""
MOST_RUNS = 10_000
"""A log that breaks off more often is none of one vehicle."""
LOOK_BACK = 64
"""Runs of wrong fixes between two right ones that are seen past (own choice)."""

Mask = NDArray[np.bool_]


def onward(times_s: Floats) -> Mask:
    """The most fixes (n,) whose times [s] strictly grow (longest increasing subsequence)."""
    if len(times_s) < 2 or bool((np.diff(times_s) > 0).all()):
        return np.ones(len(times_s), np.bool_)
    tails: list[float] = []
    ends: list[int] = []
    before = np.full(len(times_s), -1)
    for index, at in enumerate(times_s.tolist()):
        place = bisect_left(tails, at)
        before[index] = ends[place - 1] if place else -1
        tails[place : place + 1] = [at]
        ends[place : place + 1] = [index]
    kept = np.zeros(len(times_s), np.bool_)
    index = ends[-1]
    while index >= 0:
        kept[index] = True
        index = int(before[index])
    return kept


def reachable(times_s: Floats, lat_deg: Floats, lon_deg: Floats) -> tuple[Mask, int]:
    """Fixes (n,) that a vehicle can have reached from the one before, and how many jumps are left:
    places where so many fixes agree on either side that both are believed.

    ``times_s`` grow strictly; fixes without position (nan) stay. Raises ValueError where positions
    break off more than MOST_RUNS times.
    """
    kept = np.ones(len(times_s), np.bool_)
    placed = np.flatnonzero(~np.isnan(lat_deg + lon_deg))
    if len(placed) < 2:
        return kept, 0
    times, lat, lon = times_s[placed], lat_deg[placed], lon_deg[placed]
    broken = np.flatnonzero(steps_m(lat, lon) > FASTEST_MS * np.diff(times) + SLACK_M) + 1
    if len(broken) >= MOST_RUNS:
        raise ValueError(f"positions jump more than {MOST_RUNS} times")
    starts = np.array([0, *broken.tolist()])
    ends = np.array([*broken.tolist(), len(placed)])
    believed = np.zeros(len(placed), np.bool_)
    chain, jumps = _chain(starts, ends, (times, lat, lon))
    for run in chain:
        believed[starts[run] : ends[run]] = True
    kept[placed[~believed]] = False
    return kept, jumps


def _chain(
    starts: NDArray[np.int_], ends: NDArray[np.int_], columns: tuple[Floats, Floats, Floats]
) -> tuple[list[int], int]:
    """The runs with the most fixes of which each can be reached from the one before, or, at the
    price of a jump, is long itself; and how many jumps that took."""
    sizes = (ends - starts).astype(np.float64)
    best, before = sizes.copy(), np.full(len(sizes), -1)
    jumped = np.zeros(len(sizes), np.bool_)
    times, lat, lon = columns
    for run in range(1, len(sizes)):
        far = max(0, run - LOOK_BACK)
        last, first = ends[far:run] - 1, np.full(run - far, starts[run])
        apart = distances_m(lat[last], lon[last], lat[first], lon[first])
        near = apart <= FASTEST_MS * (times[first] - times[last]) + SLACK_M
        jump = (best[far:run] >= ENOUGH) & (sizes[run] >= ENOUGH)
        gain = np.where(near, best[far:run], np.where(jump, best[far:run] - ENOUGH + 1, 0.0))
        # Of equals the last: what lies between was passed.
        choice = len(gain) - 1 - int(np.argmax(gain[::-1]))
        if gain[choice] > 0:
            best[run] += gain[choice]
            before[run], jumped[run] = far + choice, not near[choice]
    run, chain, jumps = int(np.argmax(best)), [], 0
    while run >= 0:
        chain.append(run)
        jumps += int(jumped[run])
        run = int(before[run])
    return chain, jumps
