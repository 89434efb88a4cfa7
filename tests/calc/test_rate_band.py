"""Poisson bounds. Outside check: SciPy's chi-squared quantiles (Garwood's identity); "rule of
three": nothing in n bounds the rate at 3 / n one-sided, 3.69 / n two-sided at 95 %."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from asfound.calc.rate_band import MANY, rate_band


def test_nothing_seen_is_not_nothing() -> None:
    low, high = rate_band(0, 10)
    assert low == 0 and high == pytest.approx(0.3689, abs=1e-4)


@given(st.integers(0, 3000), st.floats(0.1, 1000))
def test_bounds_agree_with_scipy(count: int, exposure: float) -> None:
    low, high = rate_band(count, exposure)
    expected_low = stats.chi2.ppf(0.025, 2 * count) / 2 / exposure if count else 0.0
    assert low == pytest.approx(expected_low, rel=1e-6, abs=1e-9)
    assert high == pytest.approx(stats.chi2.ppf(0.975, 2 * count + 2) / 2 / exposure, rel=1e-6)
    assert low <= count / exposure <= high


def test_many() -> None:
    count = MANY + 1
    low, high = rate_band(count, 1)
    assert low == pytest.approx(stats.chi2.ppf(0.025, 2 * count) / 2, rel=3e-3)
    assert high == pytest.approx(stats.chi2.ppf(0.975, 2 * count + 2) / 2, rel=3e-3)


def test_no_rate() -> None:
    for count, exposure in ((-1, 1.0), (1, 0.0)):
        with pytest.raises(ValueError, match="no rate"):
            rate_band(count, exposure)
