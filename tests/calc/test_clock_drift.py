"""Drift. Sources: 1 ppm is 0.0864 s a day (identity); crystal sheets for the curve (from memory);
SciPy's linear regression beside."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from asfound.calc.clock_drift import (
    DAY_S,
    OffsetRead,
    crystal_ppm,
    drift_of,
    passing,
)

START = 1_780_000_000.0


def readings(
    days: list[float], ppm: float, noise: float = 0.0, seed: int = 0, within: float = 1.0
) -> list[OffsetRead]:
    random = np.random.default_rng(seed)
    return [
        OffsetRead(START + day * DAY_S, 5 + ppm * 0.0864 * day + random.normal(0, noise), within)
        for day in days
    ]


@pytest.mark.parametrize(
    ("ppm", "a_day"), [(1, 0.0864), (10, 0.864), (20, 1.728), (50, 4.32), (100, 8.64)]
)
def test_ppm_and_seconds_a_day(ppm: float, a_day: float) -> None:
    found = drift_of([OffsetRead(START, 0.0), OffsetRead(START + DAY_S * 10, a_day * 10)])
    assert found is not None and found.ppm == pytest.approx(ppm)


def test_two_readings_give_no_band() -> None:
    found = drift_of(readings([0, 30], 20))
    assert found is not None and found.low_ppm is None and found.high_ppm is None
    soon = passing(found, 60, START + 30 * DAY_S)
    assert soon.earliest_s is None and soon.latest_s is None
    # 5 + 1.728 d = 60 at day 31.8
    assert soon.likely_s == pytest.approx(START + 31.83 * DAY_S, abs=0.1 * DAY_S)


@pytest.mark.parametrize("seed", range(1000, 1006))
def test_line_and_band_as_least_squares_where_nothing_is_out_of_line(seed: int) -> None:
    random = np.random.default_rng(seed)
    at = np.arange(20) * 10 * DAY_S
    # Uniform errors: only the farthest weigh a little less with Huber.
    offset = 3 + 15e-6 * at + random.uniform(-4, 4, 20)
    made = drift_of([OffsetRead(START + a, o, 0.2) for a, o in zip(at, offset, strict=True)])
    plain = stats.linregress(at, offset)
    assert made is not None and made.high_ppm is not None
    assert made.ppm == pytest.approx(plain.slope * 1e6, abs=0.5 * plain.stderr * 1e6)
    expected = stats.t.ppf(0.975, 18) * plain.stderr * 1e6
    assert made.high_ppm - made.ppm == pytest.approx(expected, rel=0.25)


def test_bands_hold_the_truth_in_19_of_20() -> None:
    held = 0
    for seed in range(1000, 1200):
        found = drift_of(readings([0, 20, 45, 70, 90, 120], 12, 0.58, seed))
        assert found is not None and found.low_ppm is not None and found.high_ppm is not None
        held += found.low_ppm <= 12 <= found.high_ppm
    assert held >= 185


def test_a_clock_that_was_set_is_a_jump_and_the_drift_stays() -> None:
    made = readings([0, 30, 60, 90, 120], 20, 0.3, 1001)
    made[3:] = [OffsetRead(one.at_s, one.offset_s - 155) for one in made[3:]]
    found = drift_of(made)
    assert found is not None and len(found.jumps) == 1
    assert found.jumps[0].seconds == pytest.approx(-155, abs=3)
    assert (found.jumps[0].after_s, found.jumps[0].before_s) == (made[2].at_s, made[3].at_s)
    assert found.ppm == pytest.approx(20, abs=1.5)
    assert found.offset_at(made[-1].at_s) == pytest.approx(made[-1].offset_s, abs=1.5)


def test_a_reading_out_of_line_is_named_and_not_taken_for_two_settings() -> None:
    made = readings([0, 30, 60, 90, 120, 150], 20, 0.2, 1002)
    made[2] = OffsetRead(made[2].at_s, made[2].offset_s + 3600)
    found = drift_of(made)
    assert found is not None and found.off == (made[2],) and not found.jumps
    assert found.ppm == pytest.approx(20, abs=1)


def test_nothing_to_say_when_the_clock_was_set_between_two_readings() -> None:
    assert drift_of([OffsetRead(START, 0), OffsetRead(START + DAY_S, 3600)]) is None
    for bad in ([OffsetRead(START, 0)], [OffsetRead(START, 0), OffsetRead(START, 1)]):
        with pytest.raises(ValueError, match="two readings"):
            drift_of(bad)


def test_when_it_passes_what_is_allowed() -> None:
    found = drift_of(readings([0, 30, 60, 90], 20, 0.2, 1003))
    assert found is not None
    soon = passing(found, 200, START + 90 * DAY_S)
    # 5 + 1.728 d = 200 at day 112.8
    assert soon.earliest_s is not None and soon.likely_s is not None and soon.latest_s is not None
    assert soon.earliest_s <= soon.likely_s <= soon.latest_s
    assert soon.likely_s == pytest.approx(START + 112.8 * DAY_S, abs=2 * DAY_S)
    still = drift_of(readings([0, 30, 60, 90], 0.0))
    assert still is not None and passing(still, 3000, START).likely_s is None


def test_cold_and_heat() -> None:
    """-40 °C -143.65 ppm (12.41 s a day), 60 °C -41.65, 85 °C -122.4; none at 25 °C."""
    assert crystal_ppm(-40) == pytest.approx(-143.65)
    assert crystal_ppm(-40) * 0.0864 == pytest.approx(-12.41, abs=0.01)
    assert crystal_ppm(60) == pytest.approx(-41.65) and crystal_ppm(85) == pytest.approx(-122.4)
    assert crystal_ppm(25) == 0


@given(
    st.lists(st.floats(0.1, 100), min_size=1, max_size=8),
    st.floats(-100, 100),
    st.floats(-3000, 3000),
    st.integers(0, 999),
)
def test_moving_all_offsets_moves_no_drift(
    steps: list[float], ppm: float, shift: float, seed: int
) -> None:
    days = np.cumsum([0.0, *steps]).tolist()
    made = readings(days, ppm, 0.3, seed)
    moved = [OffsetRead(one.at_s, one.offset_s + shift, one.within_s) for one in made]
    one, two = drift_of(made), drift_of(moved)
    assert one is not None and two is not None
    assert two.ppm == pytest.approx(one.ppm, abs=1e-3)
    assert len(one.jumps) == len(two.jumps)
