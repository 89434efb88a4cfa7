"""Calibration beside scikit-learn, an independent implementation of the same measures."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sklearn.calibration import _SigmoidCalibration, calibration_curve
from sklearn.isotonic import IsotonicRegression
from sklearn.metrics import brier_score_loss

from asfound.calc.calibration import (
    Pair,
    brier,
    expected_error,
    fit_isotonic,
    fit_sigmoid,
    reliability,
    wilson,
)

SCORES = st.integers(0, 64).map(lambda number: number / 64)
"""Apart from each other: scikit-learn takes scores nearer than its resolution for one."""

PAIRS = st.lists(st.tuples(SCORES, st.booleans()), min_size=1, max_size=60)


def drawn(count: int, seed: int = 1) -> list[Pair]:
    """Scores whose chance of being right is their square: over-confident."""
    rng = np.random.default_rng(seed)
    scores = rng.random(count)
    return [(float(s), bool(rng.random() < s * s)) for s in scores]


def apart(pairs: list[Pair]) -> tuple[list[float], list[bool]]:
    return [c for c, _ in pairs], [r for _, r in pairs]


@pytest.mark.parametrize("bins", [1, 5, 10])
def test_bins_are_those_of_scikit_learn(bins: int) -> None:
    pairs = drawn(500)
    scores, right = apart(pairs)
    shares, means = calibration_curve(right, scores, n_bins=bins)
    found = reliability(pairs, bins)
    assert [one.right for one in found] == pytest.approx(list(shares))
    assert [one.confidence for one in found] == pytest.approx(list(means))
    assert sum(one.count for one in found) == 500


@given(PAIRS)
def test_brier_is_that_of_scikit_learn(pairs: list[Pair]) -> None:
    scores, right = apart(pairs)
    assert brier(pairs) == pytest.approx(brier_score_loss(right, scores, pos_label=True))


@given(PAIRS)
def test_isotonic_fit_is_that_of_scikit_learn(pairs: list[Pair]) -> None:
    scores, right = apart(pairs)
    theirs = IsotonicRegression(out_of_bounds="clip").fit(scores, [float(r) for r in right])
    ours = fit_isotonic(pairs)
    asked = [*scores, 0.0, 0.5, 1.0]
    assert [ours.at(s) for s in asked] == pytest.approx(list(theirs.predict(asked)), abs=1e-6)


@given(PAIRS)
def test_isotonic_fit_never_falls_and_keeps_the_mean(pairs: list[Pair]) -> None:
    ours = fit_isotonic(pairs)
    scores, right = apart(pairs)
    made = [ours.at(s) for s in sorted(scores)]
    assert made == sorted(made)
    # A property of least squares with level blocks: the fitted mean is the mean of the data.
    assert np.mean([ours.at(s) for s in scores]) == pytest.approx(np.mean(right), abs=1e-9)


def test_platt_fit_is_that_of_scikit_learn() -> None:
    pairs = drawn(400, seed=3)
    scores, right = apart(pairs)
    theirs = _SigmoidCalibration().fit(np.array(scores), np.array(right, dtype=float))
    ours = fit_sigmoid(pairs)
    asked = np.linspace(0, 1, 11)
    assert [ours.at(float(s)) for s in asked] == pytest.approx(
        list(theirs.predict(asked)), abs=1e-4
    )


def test_platt_fit_holds_where_the_classes_part() -> None:
    ours = fit_sigmoid([(0.1, False)] * 5 + [(0.9, True)] * 5)
    # Platt's softened targets: (n + 1) / (n + 2) and 1 / (n + 2), n = 5.
    assert ours.at(0.9) == pytest.approx(6 / 7, abs=1e-3)
    assert ours.at(0.1) == pytest.approx(1 / 7, abs=1e-3)
    assert ours.at(1e6) == pytest.approx(1.0) and ours.at(-1e6) == pytest.approx(0.0)
    for pairs in ([], [(0.5, True)], [(0.5, False)]):
        with pytest.raises(ValueError, match="right and values that were wrong"):
            fit_sigmoid(pairs)


def test_expected_error_by_hand() -> None:
    # Two bins: 4 at 0.9 with 3 right (0.15 apart), 1 at 0.2 right (0.8 apart): 0.28 in all.
    pairs = [(0.9, True)] * 3 + [(0.9, False), (0.2, True)]
    assert expected_error(pairs) == pytest.approx((4 * 0.15 + 0.8) / 5)
    assert expected_error([(1.0, True), (0.0, False)]) == 0.0


def test_wilson_interval_of_a_published_case() -> None:
    # Newcombe, Statistics in Medicine 17, 1998, table I (from memory): 81 of 263.
    least, most = wilson(81, 263)
    assert (round(least, 4), round(most, 4)) == (0.2553, 0.3662)
    assert wilson(0, 0) == (0.0, 1.0)


def test_what_is_no_confidence_is_refused() -> None:
    for wrong in ([(1.2, True)], [(-0.1, True)], [(float("nan"), True)]):
        with pytest.raises(ValueError, match="between 0 and 1"):
            reliability(wrong)
    for empty in (brier, expected_error, fit_isotonic):
        with pytest.raises(ValueError, match="no pairs"):
            empty([])
    with pytest.raises(ValueError, match="bin"):
        reliability([], 0)
