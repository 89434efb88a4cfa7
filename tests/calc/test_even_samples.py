"""Samples at even times: straight lines between samples, gaps, and blocks that change nothing."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.even_samples import Evener, Floats, Ticks


def evened(ticks: Ticks, times: Floats, xyz: Floats, size: int) -> tuple[Floats, Floats, list[int]]:
    """Places, figures, and where stretches begin."""
    one, places, rows, fresh = Evener(ticks), [], [], []
    for at in range(0, len(times), size):
        for piece in one.feed(times[at : at + size], xyz[at : at + size]):
            places.append(np.arange(piece.first, piece.first + len(piece.xyz), dtype=np.float64))
            rows.append(piece.xyz)
            fresh += [piece.first] * piece.fresh
    return np.concatenate(places), np.concatenate(rows), fresh


def test_a_straight_line_stays_one_and_a_gap_is_one() -> None:
    draw = np.random.default_rng(3)
    times = np.sort(draw.uniform(0, 10, 300))
    times = 1e9 + np.concatenate([[0.0], times, times + 20.0])
    xyz = np.stack([2 * (times - 1e9), 1 - (times - 1e9), 0 * times], axis=1)
    places, rows, fresh = evened(Ticks(1e9, 25.0, False), times, xyz, 1000)
    assert np.allclose(rows[:, 0], 2 * places / 25.0, atol=1e-4)
    assert np.allclose(rows[:, 1], 1 - places / 25.0, atol=1e-4)
    assert len(fresh) == 2 and fresh[0] == 0 and 500 <= fresh[1] <= 510
    assert not ((places > 252) & (places < 499)).any(), "nothing is made up in a gap"


def test_samples_on_the_grid_are_left_as_they_are() -> None:
    xyz = np.random.default_rng(1).normal(size=(50, 3))
    times = 1.79e9 + np.arange(50) / 25.0
    for even in (True, False):
        places, rows, fresh = evened(Ticks(1.79e9, 25.0, even), times, xyz, 7)
        # Times of today have 2e-7 s: without being told, the last may lie just before its point.
        assert len(places) >= 49 and fresh == [0]
        assert np.allclose(rows, xyz[: len(rows)], atol=1e-4)
    assert (evened(Ticks(1.79e9, 25.0, True), times, xyz, 7)[1] == xyz).all()


@given(
    st.lists(st.floats(0.001, 0.9), min_size=2, max_size=40),
    st.integers(1, 15),
    st.sampled_from([5.0, 10.0, 33.3]),
)
def test_blocks_change_no_bit(steps: list[float], size: int, rate: float) -> None:
    times = np.cumsum(np.array(steps))
    xyz = np.random.default_rng(len(steps)).normal(size=(len(times), 3))
    ticks = Ticks(float(times[0]), rate, False)
    whole = evened(ticks, times, xyz, 1000)
    parts = evened(ticks, times, xyz, size)
    assert whole[0].tolist() == parts[0].tolist() and whole[1].tolist() == parts[1].tolist()
    assert whole[2] == parts[2]
