"""Student's t. Outside check: SciPy; 12.706 and 4.303 are printed in every table."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from asfound.calc.student import MANY, t_quantile, within_share


def test_printed_values() -> None:
    assert t_quantile(0.95, 1) == pytest.approx(12.706, abs=1e-3)
    assert t_quantile(0.95, 2) == pytest.approx(4.303, abs=1e-3)
    assert t_quantile(0.95, 10_000) == pytest.approx(1.96, rel=7e-3)
    for share, freedom in ((0.0, 3), (1.0, 3), (0.95, 0)):
        with pytest.raises(ValueError, match="no quantile"):
            t_quantile(share, freedom)


@given(st.floats(0, 50), st.integers(1, MANY))
def test_shares_agree_with_scipy(t: float, freedom: int) -> None:
    expected = 2 * float(stats.t.cdf(t, freedom)) - 1
    assert within_share(t, freedom) == pytest.approx(expected, abs=1e-9)
