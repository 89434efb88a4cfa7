"""Speed and course from positions, where a receiver told none."""

from __future__ import annotations

import numpy as np
import pytest

from asfound.calc.track_motion import speed_and_course
from asfound.model.drive_log import Track

NOTHING = np.full(9, np.nan)


def test_due_east_on_the_equator() -> None:
    # One minute of longitude on the equator: 1855.325 m (a = 6378137 m, WGS 84: 2 pi a / 21600).
    times = np.arange(9.0) * 2
    track = Track(times, np.zeros(9), np.arange(9.0) / 60 / 100, NOTHING, NOTHING)
    speed, course = speed_and_course(track)
    assert speed == pytest.approx(np.full(9, 18.55325 / 2), rel=1e-6)
    assert course == pytest.approx(np.full(9, 90.0))


def test_what_was_told_stays_and_gaps_say_nothing() -> None:
    times = np.array([0.0, 1, 2, 3, 60, 61, 62, 63, 64])
    told = np.array([5.0, np.nan, np.nan, np.nan, np.nan, 7, 8, 9, 9])
    still = np.zeros(9)
    speed, course = speed_and_course(Track(times, still, still, told, NOTHING))
    assert speed[0] == 5 and speed[5:].tolist() == [7, 8, 9, 9]
    assert speed[1:5].tolist() == [0, 0, 0, 0]
    assert np.isnan(course).all(), "standing has no direction"
    alone = speed_and_course(Track(times[:1], still[:1], still[:1], NOTHING[:1], NOTHING[:1]))
    assert np.isnan(alone[0]).all()
