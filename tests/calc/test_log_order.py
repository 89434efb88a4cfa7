"""Times of a log are put in order whatever the blocks in which it comes.

Expected orders follow from what is said in the module; worked out by hand.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from asfound.calc.log_order import LeftOut, Ordered

Floats = NDArray[np.float64]


def ordered(times: Floats, xyz: Floats, size: int) -> tuple[Floats, Floats, LeftOut]:
    one = Ordered()
    blocks = [
        one.feed(times[at : at + size], xyz[at : at + size]) for at in range(0, len(times), size)
    ]
    blocks.append(one.rest())
    return (
        np.concatenate([times for times, _ in blocks]),
        np.concatenate([xyz for _, xyz in blocks]),
        one.left_out,
    )


def numbered(count: int) -> Floats:
    return np.arange(3.0 * count).reshape(count, 3)


@pytest.mark.parametrize(
    ("times", "expected", "back"),
    [
        ([0.0, 1, 2, 3], [0.0, 1, 2, 3], 0),
        # A stamp of whole seconds, shared by samples at four a second.
        ([0.0, 0, 0, 0, 1, 1, 1, 1], [0, 0.25, 0.5, 0.75, 1, 1.25, 1.5, 1.75], 0),
        # The clock is put back: what was there before comes again and is left out.
        ([0.0, 1, 2, 3, 1.5, 1.7, 3.5], [0.0, 1, 2, 3, 3.5], 2),
        # One wrong stamp far ahead does not take the rest of the log with it.
        ([0.0, 1, 900, 2, 3], [0.0, 1, 2, 3], 1),
        ([5.0], [5.0], 0),
        ([], [], 0),
    ],
)
def test_order(times: list[float], expected: list[float], back: int) -> None:
    got, _, left_out = ordered(np.array(times), numbered(len(times)), 100)
    assert got.tolist() == expected
    assert left_out == LeftOut(back, 0)


def test_a_line_that_stands_there_twice_counts_once() -> None:
    xyz = numbered(3)[[0, 1, 1, 2]]
    times, figures, left_out = ordered(np.array([0.0, 1, 1, 2]), xyz, 2)
    assert times.tolist() == [0, 1, 2] and figures.tolist() == numbered(3).tolist()
    assert left_out == LeftOut(0, 1)


@given(
    st.lists(st.sampled_from([0, 0, 1, 1, 1, 2, -1, 5, -6]), max_size=30),
    st.lists(st.integers(0, 1), min_size=90, max_size=90),
    st.integers(1, 9),
)
def test_blocks_change_nothing_and_times_rise(
    steps: list[int], figures: list[int], size: int
) -> None:
    times = np.cumsum(np.array(steps, np.float64))
    xyz = np.array(figures, np.float64).reshape(30, 3)[: len(times)]
    whole, blocks = ordered(times, xyz, 100), ordered(times, xyz, size)
    assert (np.diff(whole[0]) > 0).all()
    assert whole[0].tolist() == blocks[0].tolist() and whole[1].tolist() == blocks[1].tolist()
    assert whole[2] == blocks[2]
    assert len(whole[0]) + whole[2].back + whole[2].repeated == len(times), "none is lost unsaid"
