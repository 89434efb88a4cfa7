"""Clock offsets from two speed logs, on simulated drives of test seeds (1000 on; tuning: below).

Expected: the offset that the simulation put in. Convention: recorder minus true.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asfound.calc.clock_match import Match, Speeds, match_clocks
from asfound.model.drive_log import Track
from simulated_drives import START_S, drive, receiver, recorder


def speeds(track: Track) -> Speeds:
    return Speeds(track.times_s, track.speed_ms)


def matched(seed: int, minutes: float, offset: float, lag: float = 0.0) -> Match | None:
    made = drive(seed, minutes)
    shown = recorder(made, seed, offset, (30, minutes * 60 - 20))
    return match_clocks(speeds(shown), speeds(receiver(made, seed, lag)), 1800)


@pytest.mark.parametrize(("seed", "offset"), [(1000, 258.0), (1001, -37.25), (1002, 0.4)])
def test_a_quarter_of_an_hour_tells_a_tenth_of_a_second(seed: int, offset: float) -> None:
    found = matched(seed, 15, offset)
    assert found is not None and found.sure
    assert found.offset_s == pytest.approx(offset, abs=0.15)
    assert abs(found.offset_s - offset) <= 2 * found.within_s


def test_the_receiver_s_lag_is_in_the_offset() -> None:
    prompt, late = matched(1003, 20, 5.0), matched(1003, 20, 5.0, lag=1.0)
    assert prompt is not None and late is not None
    assert late.offset_s == pytest.approx(prompt.offset_s - 1.0, abs=0.1)


@pytest.mark.parametrize("seed", range(1010, 1016))
def test_drives_that_have_nothing_to_do_with_each_other_are_refused(seed: int) -> None:
    one, two = drive(seed, 20), drive(seed + 500, 20)
    shown = recorder(one, seed, 0.0, (0, 1190))
    found = match_clocks(speeds(shown), speeds(receiver(two, seed)), 1800)
    assert found is None or not found.sure


def test_too_little_is_refused() -> None:
    assert matched(1020, 3, 0.0) is None
    ends = Speeds(np.array([0.0, 3e6]), np.ones(2))
    assert match_clocks(Speeds(np.array([1.5e6, 1.6e6]), np.ones(2)), ends, 60) is None
    still = Speeds(np.arange(900.0), np.zeros(900))
    assert match_clocks(still, still, 60) is None


@settings(max_examples=10, deadline=None)
@given(st.floats(-600, 600), st.integers(1030, 1033))
def test_shifting_a_log_shifts_the_offset(shift: float, seed: int) -> None:
    made = drive(seed, 12)
    log = recorder(made, seed, 0.0, (0, 700))
    moved = Speeds(log.times_s + shift, log.speed_ms)
    found = match_clocks(moved, speeds(log), 900)
    assert found is not None and found.sure
    # The grid falls differently on whole seconds: linear interpolation costs some hundredths.
    assert found.offset_s == pytest.approx(shift, abs=0.08)


def test_the_simulation_starts_where_it_says() -> None:
    assert receiver(drive(1040, 1), 1040).times_s[0] >= START_S
