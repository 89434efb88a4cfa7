"""Limits passed. Expected counts: by hand, and by a plain loop over fixes."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from asfound.calc.over_speed import GAP_S, counts_over, known_seconds, passages

SPEEDS = arrays(np.float64, st.integers(1, 60), elements=st.floats(0, 40))


def test_by_hand() -> None:
    times = np.array([0, 1, 2, 3, 4, 5, 6, 20, 21, 22], float)
    speed = np.array([10, 26, 27, 10, 26, 26, 26, 26, np.nan, 26])
    found = passages(times, speed, 25.0, 2.0)
    assert [(one.start_s, one.end_s, one.top_ms, one.at) for one in found] == [(4, 6, 26, 4)]
    assert len(passages(times, speed, 25.0, 0.0)) == 4
    assert counts_over(times, speed, [25, 26.5], [0, 1, 2, 3]).tolist() == [
        [4, 2, 1, 0],
        [1, 0, 0, 0],
    ]
    assert known_seconds(times, speed) == 6


def slow_count(times: np.ndarray, speed: np.ndarray, above: float, least: float) -> int:
    count, start, last = 0, None, None
    for at, value in [*zip(times, speed, strict=True), (1e9, 0.0)]:
        if start is not None and (value <= above or at - last > GAP_S):
            count += last - start >= least
            start = None
        if value > above:
            start = at if start is None else start
            last = at
    return count


@given(SPEEDS, st.integers(0, 99), st.floats(0, 40), st.floats(0, 10))
def test_as_a_plain_loop_counts(speed: np.ndarray, seed: int, above: float, least: float) -> None:
    steps = np.random.default_rng(seed).choice([0.5, 1, 2, 5], len(speed))
    times = np.cumsum(steps)
    expected = slow_count(times, speed, above, least)
    assert len(passages(times, speed, above, least)) == expected
    assert counts_over(times, speed, [above], [least])[0, 0] == expected


@given(SPEEDS, st.floats(0, 30), st.floats(0, 5))
def test_longer_durations_never_count_more(speed: np.ndarray, above: float, least: float) -> None:
    made = counts_over(np.arange(len(speed), dtype=float), speed, [above], [least, least + 1])
    assert made[0, 1] <= made[0, 0]


def test_a_speed_without_fixes_is_no_time() -> None:
    assert known_seconds(np.array([0.0]), np.array([3.0])) == pytest.approx(0)
