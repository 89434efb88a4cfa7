"""Spans, seams and jumps. Expected values are counted by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.timelines import Seam, jumps, runs, seams, spread


def times(text: str) -> np.ndarray:
    return np.arange(len(text), dtype=np.float64)


@pytest.mark.parametrize(
    ("text", "minimum", "expected"),
    [
        ("....", 1.0, ()),
        ("####", 4.0, ((0, 3),)),
        ("####", 4.1, ()),
        (".##.###", 2.0, ((1, 2), (4, 6))),
        (".##.###", 3.0, ((4, 6),)),
        ("", 1.0, ()),
    ],
)
def test_runs_last_until_the_next_sample(
    text: str, minimum: float, expected: tuple[tuple[int, int], ...]
) -> None:
    flags = np.array([letter == "#" for letter in text], dtype=bool)
    assert runs(times(text), flags, minimum, float(len(text))) == expected


@given(st.lists(st.booleans(), max_size=40), st.floats(0.1, 10))
def test_runs_cover_true_samples_only_and_all_of_them_without_a_minimum(
    flags: list[bool], minimum: float
) -> None:
    second = np.arange(len(flags), dtype=np.float64)
    marks = np.array(flags, dtype=bool)
    for first, last in runs(second, marks, minimum, float(len(flags))):
        assert marks[first : last + 1].all()
        assert last + 1 - first >= minimum - 1e-6
    covered = sum(last + 1 - first for first, last in runs(second, marks, 0, float(len(flags))))
    assert covered == sum(flags)


def test_gaps_and_overlaps_between_pieces_in_any_order() -> None:
    pieces = [(100.0, 10.0), (0.0, 60.0), (60.5, 30.0), (105.0, 20.0)]
    assert seams(pieces, 2.0) == (Seam(2, 0, 9.5), Seam(0, 3, -5.0))


def test_a_piece_inside_another_is_an_overlap_and_does_not_hide_the_end() -> None:
    assert seams([(0.0, 100.0), (10.0, 5.0), (100.0, 5.0)], 2.0) == (Seam(0, 1, -90.0),)


@given(st.lists(st.floats(0.5, 100), min_size=1, max_size=12))
def test_pieces_that_follow_each_other_have_no_seams(lengths: list[float]) -> None:
    starts = np.concatenate(([0.0], np.cumsum(lengths)[:-1]))
    assert seams(list(zip(starts.tolist(), lengths, strict=True)), 0.01) == ()


def test_jumps_are_pauses_between_samples() -> None:
    assert jumps(np.array([0.0, 1.0, 5.0, 6.0]), 2.0) == ((1.0, 5.0),)


def test_seconds_are_spread_inside() -> None:
    assert spread(12.0, 3) == (2.0, 6.0, 10.0)
