"""Filters against scipy.signal, and channel classes against what was published or computed apart.

Coefficients of the channel classes: SAE J211-1's formulas with CFC 2.0775, computed apart from this
code with NumPy for 1/10000 s and 1/20000 s; -3 dB points of two passes computed with SciPy 1.17.
"""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import signal

from asfound.calc.motion_filters import (
    J211_FACTOR,
    NO_FILTER,
    Filter,
    Floats,
    butterworth,
    channel_class,
    run_sections,
)


def run(one: Filter, x: Floats, size: int = 0) -> Floats:
    memory = one.settled() * x[0]
    out = np.empty_like(x)
    for at in range(0, len(x), size or len(x)):
        part = slice(at, at + (size or len(x)))
        run_sections(x[part], one.sections, memory, out[part])
    return out


@given(st.floats(0.001, 0.44), st.sampled_from([2, 4, 6, 8]), st.sampled_from([10.0, 25.0, 400.0]))
def test_butterworth_is_scipys(share: float, order: int, rate: float) -> None:
    one = butterworth(share * rate, rate, order)
    x = np.random.default_rng(5).normal(size=300) + 2.0
    theirs = signal.butter(order, share * rate, fs=rate, output="sos")
    settled = signal.sosfilt_zi(theirs) * x[0]
    expected, _ = signal.sosfilt(theirs, x, zi=settled)
    assert np.allclose(run(one, x), expected, rtol=1e-7, atol=1e-7)
    assert one.gain(0.0, rate) == pytest.approx(1.0)
    assert one.gain(share * rate, rate) == pytest.approx(sqrt(0.5), rel=1e-6)


@pytest.mark.parametrize(
    ("cfc", "rate", "a0", "b1", "b2"),
    [
        (60, 10_000, 0.0014523675, 1.8893432, -0.89515269),
        (180, 10_000, 0.011796271, 1.6701175, -0.71730255),
        (600, 10_000, 0.097184625, 0.94557401, -0.33431251),
        (1000, 10_000, 0.21923142, 0.31189654, -0.18882221),
        (60, 20_000, 0.00037300063, None, None),
        (180, 20_000, 0.0031826362, None, None),
        (600, 20_000, 0.029806072, None, None),
        (1000, 20_000, 0.071893097, None, None),
    ],
)
def test_channel_classes(
    cfc: int, rate: float, a0: float, b1: float | None, b2: float | None
) -> None:
    row = channel_class(cfc, rate).sections[0]
    assert row[:3] == pytest.approx([a0, 2 * a0, a0], rel=1e-6)
    if b1 is not None and b2 is not None:
        # The standard adds what a difference equation takes away.
        assert -row[3:] == pytest.approx([b1, b2], rel=1e-6)
    assert row[:3].sum() / (1 + row[3:].sum()) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("cfc", "rate", "hz"),
    [
        (60, 10_000, 99.93), (180, 10_000, 300.2), (600, 10_000, 1017), (1000, 10_000, 1750),
        (60, 20_000, 99.95), (180, 20_000, 299.9), (600, 20_000, 1004), (1000, 20_000, 1686),
    ],
)  # fmt: skip
def test_two_passes_are_three_decibels_down(cfc: int, rate: float, hz: float) -> None:
    assert channel_class(cfc, rate).gain(hz, rate) ** 2 == pytest.approx(sqrt(0.5), abs=2e-3)


def test_why_cfc_60_means_100_hz() -> None:
    # Two passes of a second-order Butterworth are 3 dB down at (sqrt 2 - 1)^(1/4) of the cut-off.
    assert J211_FACTOR * (sqrt(2) - 1) ** 0.25 == pytest.approx(5 / 3, rel=1e-4)


@given(st.integers(1, 50), st.sampled_from([0, 2, 4, 6]))
def test_blocks_change_no_bit(size: int, order: int) -> None:
    one = butterworth(4.0, 25.0, order) if order else NO_FILTER
    x = np.random.default_rng(size).normal(size=120)
    assert (run(one, x, size) == run(one, x)).all()


def test_what_cannot_be() -> None:
    for cut, rate, order in ((12.0, 25.0, 4), (0.0, 25.0, 4), (4.0, 25.0, 3)):
        with pytest.raises(ValueError, match=r"low-pass|order"):
            butterworth(cut, rate, order)
    # Least rates: SAE J211-1 / ISO 6487 (600, 1800, 6000, 10 000 Hz).
    for cfc, rate in ((60, 599.0), (180, 1799.0), (600, 5999.0), (1000, 9999.0)):
        with pytest.raises(ValueError, match="needs"):
            channel_class(cfc, rate)
    with pytest.raises(ValueError, match="the classes are"):
        channel_class(100, 1e5)
