"""Shares from counts, against scipy's Beta distribution and what must hold of every count."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.stats import beta

from asfound.calc.count_shares import beta_below, beta_quantile, share_bounds, shares

SIZES = st.floats(0.05, 5000)


@given(SIZES, SIZES, st.floats(0.001, 0.999))
def test_quantiles_beside_scipy(a: float, b: float, chance: float) -> None:
    """Held against the distribution function: where it is steep, quantiles are not comparable."""
    found = beta_quantile(chance, a, b)
    assume(1e-12 < found < 1 - 1e-9)
    assert float(beta.cdf(found, a, b)) == pytest.approx(chance, abs=1e-7)


@given(SIZES, SIZES, st.floats(0, 1))
def test_the_distribution_beside_scipy(a: float, b: float, value: float) -> None:
    assert beta_below(value, a, b) == pytest.approx(float(beta.cdf(value, a, b)), abs=1e-9)


def test_laplaces_rule_of_succession() -> None:
    """Laplace 1774: after s of n, (s + 1) / (n + 2); of the sun's 7 risings in 7 days, 8/9."""
    assert shares([0.5, 0.5], 2, [7, 0])[0] == pytest.approx(8 / 9)


def test_the_placenta_praevia_of_the_textbook() -> None:
    """Gelman et al., Bayesian Data Analysis, 2.4 (from memory): 437 girls of 980 births and a
    uniform prior: mean 0.446, 95 % from 0.415 to 0.477."""
    assert shares([0.5, 0.5], 2, [437, 543])[0] == pytest.approx(0.446, abs=5e-4)
    assert share_bounds(0.5, 2, 437, 980, 0.95) == pytest.approx((0.415, 0.477), abs=5e-4)


@given(
    st.lists(st.floats(0.01, 1), min_size=2, max_size=6),
    st.floats(1, 1000),
    st.lists(st.integers(0, 500), min_size=6, max_size=6),
)
def test_counts_only_move_towards_what_was_counted(
    prior: list[float], weight: float, counts: list[int]
) -> None:
    start = [share / sum(prior) for share in prior]
    some = counts[: len(prior)]
    found = shares(start, weight, some)
    assert sum(found) == pytest.approx(1)
    total = sum(some)
    for before, after, count in zip(start, found, some, strict=True):
        often = count / total if total else before
        low, high = sorted((before, often))
        assert low - 1e-12 <= after <= high + 1e-12


@given(st.floats(0.1, 0.9), st.floats(20, 500), st.integers(50, 400))
def test_bounds_hold_the_mean_and_close_in(share: float, weight: float, total: int) -> None:
    """Counts that say what was thought before make it surer."""
    count = round(share * total)
    low, high = share_bounds(share, weight, count, total)
    mean = (weight * share + count) / (weight + total)
    assert 0 <= low < mean < high <= 1
    before = share_bounds(share, weight, 0, 0)
    assert high - low < before[1] - before[0]


def test_what_cannot_be_counted_is_said() -> None:
    with pytest.raises(ValueError, match="weight above 0"):
        shares([1.0], 0, [1])
    with pytest.raises(ValueError, match="between 0 and 1"):
        share_bounds(0.5, 10, 3, 2)
