"""Wheel pulses a kilometre. Outside checks: scikit-learn's HuberRegressor; km/h = 3600 Hz / k; the
pulses that the simulation put in (test seeds: 1000 on)."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sklearn.linear_model import HuberRegressor

from asfound.calc.wheel_pulses import (
    Windows,
    count_of,
    pulse_rate,
    pulse_speeds,
    way_of,
    way_speeds,
    windows_of,
)
from simulated_drives import drive, pulse_counts, receiver


def windows(seed: int, per_km: float, spoilt: float = 0.1) -> Windows:
    random = np.random.default_rng(seed)
    metres = random.uniform(150, 1500, 60)
    pulses = metres * per_km / 1000 + random.normal(0, 8, 60)
    pulses[random.random(60) < spoilt] *= 0.7
    return Windows(pulses, metres, 0)


@pytest.mark.parametrize("seed", range(1000, 1008))
def test_as_scikit_learn_s_huber_regression_without_intercept(seed: int) -> None:
    made = windows(seed, 8230)
    found = pulse_rate(made)
    other = HuberRegressor(epsilon=1.345, fit_intercept=False, alpha=0, max_iter=1000)
    other.fit((made.metres / 1000)[:, None], made.pulses)
    assert found is not None
    # Scale is estimated in another way there: the lines agree far within the band.
    assert found.per_km == pytest.approx(other.coef_[0], rel=5e-4)


@pytest.mark.parametrize("speeds", [True, False])
@pytest.mark.parametrize(("seed", "per_km"), [(1100, 4000.0), (1101, 8230.0), (1102, 21000.0)])
def test_simulated_drives(seed: int, per_km: float, speeds: bool) -> None:
    made = drive(seed, 30)
    times, counts = pulse_counts(made, seed, per_km)
    way = way_of(receiver(made, seed, lag=0.0, speeds=speeds))
    assert way.from_speeds is speeds
    found = pulse_rate(windows_of(times, counts, way))
    assert found is not None
    assert found.per_km == pytest.approx(per_km, rel=3e-3)
    assert found.low < found.per_km < found.high


def test_frequencies_count_like_pulses() -> None:
    """100 Hz at 8000 pulses a km are 45 km/h: 12.5 m/s, 0.125 m a pulse (identity)."""
    times = np.arange(0.0, 601.0)
    counts = count_of(times, np.full(601, 100.0))
    assert counts[-1] == 60_000
    assert pulse_speeds(times, counts).speed_ms * 0.125 * 3.6 == pytest.approx(np.full(600, 45.0))


def test_windows_with_gaps_or_a_counter_that_begins_anew_are_left_out() -> None:
    made = drive(1110, 20)
    times, counts = pulse_counts(made, 1110, 8000, missed=0)
    way = way_of(receiver(made, 1110, tunnels=0))
    whole = windows_of(times, counts, way)
    after = np.where(times > times[600], counts - counts[600], counts)
    broken = windows_of(times, after, way)
    assert len(broken.pulses) == len(whole.pulses) - 1
    kept = (times < times[300]) | (times > times[330])
    assert len(windows_of(times[kept], counts[kept], way).pulses) < len(whole.pulses)
    assert pulse_rate(broken) is not None


def test_speeds_of_a_way_are_not_known_over_gaps() -> None:
    made = drive(1111, 10)
    way = way_of(receiver(made, 1111, speeds=False))
    gaps = np.diff(way.times_s) > 3.5
    assert gaps.any() and np.isnan(way_speeds(way).speed_ms[gaps]).all()


def test_too_little_says_nothing() -> None:
    few = Windows(np.array([800.0, 801.0]), np.array([100.0, 100.0]), 0)
    none = Windows(np.zeros(20), np.full(20, 500.0), 0)
    assert pulse_rate(few) is None and pulse_rate(none) is None


@given(st.integers(0, 10_000), st.floats(0.1, 10))
def test_twice_the_pulses_are_twice_the_rate(seed: int, factor: float) -> None:
    one = windows(seed, 8000)
    two = Windows(one.pulses * factor, one.metres, 0)
    first, second = pulse_rate(one), pulse_rate(two)
    assert first is not None and second is not None
    assert second.per_km == pytest.approx(first.per_km * factor, rel=1e-6)
    assert second.high - second.low == pytest.approx((first.high - first.low) * factor, rel=1e-5)


@given(st.integers(0, 10_000))
def test_a_tenth_of_spoilt_windows_moves_it_little(seed: int) -> None:
    found = pulse_rate(windows(seed, 8000))
    assert found is not None and found.per_km == pytest.approx(8000, rel=0.01)
