"""Rate, gaps, hours and means of a log, the same whatever its blocks."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from asfound.calc.log_survey import BIN_S, Survey, Surveyor, snapped

Floats = NDArray[np.float64]


def surveyed(times: Floats, xyz: Floats, size: int = 10_000) -> Survey:
    one = Surveyor()
    for at in range(0, len(times), size):
        one.feed(times[at : at + size], xyz[at : at + size])
    made = one.made()
    assert made is not None
    return made


def test_an_even_log_with_a_break() -> None:
    times = 1.79e9 + np.concatenate([np.arange(25 * 60), np.arange(25 * 30) + 25 * 1000]) / 25
    survey = surveyed(times, np.ones((len(times), 3)))
    assert (survey.ticks.rate_hz, survey.ticks.even) == (25.0, True)
    assert survey.gaps == 1
    assert list(survey.breaks_s) == [pytest.approx(1.79e9 + 59.96, abs=0.01)]
    assert survey.hours * 3600 == pytest.approx(90, abs=0.1)
    assert np.allclose(survey.means.xyz_ms2, 1.0)


def test_jitter_and_losses_are_not_even() -> None:
    draw = np.random.default_rng(4)
    even = np.arange(5000) / 50
    jittered = even + draw.uniform(-0.006, 0.006, len(even))
    lossy = even[draw.random(len(even)) > 0.02]
    for times in (jittered, lossy):
        survey = surveyed(times, np.zeros((len(times), 3)))
        assert survey.ticks.rate_hz == pytest.approx(50, rel=0.002) and not survey.ticks.even
        assert survey.gaps == 0


@given(st.integers(1, 400), st.integers(0, 20))
def test_blocks_change_nothing(size: int, seed: int) -> None:
    draw = np.random.default_rng(seed)
    times = np.cumsum(draw.choice([0.04, 0.04, 0.04, 0.05, 3.0], 400))
    xyz = draw.normal(size=(400, 3))
    # The rate is first guessed from the first block: give every one enough.
    whole, parts = surveyed(times, xyz), surveyed(times, xyz, max(size, 40))
    assert whole.hours == pytest.approx(parts.hours) and whole.gaps == parts.gaps
    assert whole.ticks.rate_hz == pytest.approx(parts.ticks.rate_hz)
    assert np.allclose(whole.means.times_s, parts.means.times_s)
    assert np.allclose(whole.means.xyz_ms2, parts.means.xyz_ms2)
    number = np.floor((times - times[0]) / BIN_S).astype(int)
    for at in np.unique(number)[:20]:
        place = np.argmin(np.abs(whole.means.times_s - times[0] - (at + 0.5) * BIN_S))
        assert np.allclose(whole.means.xyz_ms2[place], xyz[number == at].mean(axis=0))


def test_rates() -> None:
    assert snapped(25.01) == 25.0 and snapped(12.5) == 12.5 and snapped(0.51) == 0.51
    assert Surveyor().made() is None
