"""Which fixes stay: the most that agree with each other (own rule; expectations by hand)."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.fix_order import ENOUGH, FASTEST_MS, SLACK_M, onward, reachable
from asfound.calc.wgs84 import steps_m

DEGREE_M = 111_319.49
"""Along the equator."""


def test_times_that_repeat_go_back_or_jump_ahead() -> None:
    times = np.array([1, 2, 2, 3, 900, 4, 5, 1, 6], float)
    assert onward(times).tolist() == [
        True, *onward(times).tolist()[1:3], True, False, True, True, False, True,
    ]  # fmt: skip
    assert onward(times).sum() == 6


@given(st.lists(st.integers(0, 50), max_size=60))
def test_what_stays_grows_and_nothing_longer_does(times: list[int]) -> None:
    made = onward(np.array(times, float))
    kept = [at for at, stays in zip(times, made, strict=True) if stays]
    assert all(one < two for one, two in pairwise(kept))
    # The longest increasing subsequence by the plain quadratic recurrence (textbook).
    best: list[int] = []
    for index, at in enumerate(times):
        best.append(1 + max((best[i] for i in range(index) if times[i] < at), default=0))
    assert len(kept) == max(best, default=0)


def along(metres: list[float]) -> tuple[np.ndarray, int]:
    lon = np.array(metres) / DEGREE_M
    return reachable(np.arange(len(metres), dtype=float), np.zeros(len(metres)), lon)


def test_a_leap_aside_is_left_out_and_a_tunnel_is_none() -> None:
    road = [20.0 * step for step in range(20)]
    assert along(road)[0].all()
    road[7] += 5000
    kept, jumps = along(road)
    assert np.flatnonzero(~kept).tolist() == [7] and jumps == 0
    times = np.array([*range(10), *range(300, 310)], float)
    kept, jumps = reachable(times, np.zeros(20), times * 20 / DEGREE_M)
    assert kept.all() and jumps == 0


def test_a_wrong_start_gives_way_and_two_believed_places_are_a_jump() -> None:
    road = [50_000.0, 50_010.0, *(20.0 * step for step in range(20))]
    kept, jumps = along(road)
    assert np.flatnonzero(~kept).tolist() == [0, 1] and jumps == 0
    kept, jumps = along([*range(10), *range(90_000, 90_010)])
    assert kept.all() and jumps == 1


def test_fixes_without_position_stay() -> None:
    lon = np.array([np.nan, 0, np.nan, 9, 0.0001])
    kept, _ = reachable(np.arange(5.0), np.zeros(5), lon)
    assert kept.tolist() == [True, True, True, False, True]


@given(st.lists(st.floats(-3000, 3000), min_size=2, max_size=40))
def test_what_stays_can_be_reached_but_for_the_jumps_told(metres: list[float]) -> None:
    kept, jumps = along(metres)
    times, lon = np.flatnonzero(kept).astype(float), np.array(metres)[kept] / DEGREE_M
    fast = steps_m(np.zeros(len(lon)), lon) > FASTEST_MS * np.diff(times) + SLACK_M
    assert fast.sum() == jumps <= len(metres) // ENOUGH
    assert kept.any()
