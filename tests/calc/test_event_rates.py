"""Poisson limits against SciPy's chi-square quantiles (Garwood 1936: chi2(2k + 2) / 2)."""

from __future__ import annotations

from math import inf, log

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from asfound.calc.event_rates import poisson_at_most, rate_above, rate_below


@given(st.integers(0, 3000), st.floats(0.01, 1e4), st.sampled_from([0.9, 0.95, 0.975]))
def test_limits(events: int, time: float, level: float) -> None:
    assert rate_below(events, time, level) == pytest.approx(
        stats.chi2.ppf(level, 2 * events + 2) / 2 / time, rel=1e-9
    )
    low = stats.chi2.ppf(1 - level, 2 * events) / 2 / time if events else 0.0
    assert rate_above(events, time, level) == pytest.approx(low, rel=1e-9)


@given(st.integers(0, 500), st.floats(0.0, 600))
def test_chances(events: int, mean: float) -> None:
    assert poisson_at_most(events, mean) == pytest.approx(
        stats.poisson.cdf(events, mean), rel=1e-8, abs=1e-12
    )


def test_none_in_half_an_hour() -> None:
    # -ln 0.05 = 2.9957 ("rule of three"; Hanley, Lippman-Hand, JAMA 249, 1983; from memory).
    assert rate_below(0, 0.56) == pytest.approx(-log(0.05) / 0.56) == pytest.approx(5.35, abs=0.01)
    assert rate_below(3, 0.0) == inf and rate_above(3, 0.0) == 0.0
