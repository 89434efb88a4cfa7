"""Logs that no vehicle makes end in an answer or in one line, never in anything else."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from asfound.errors import AsfoundError
from asfound.jobs.calibrate_pulses import CalibratePulses, calibrate_pulses
from asfound.jobs.match_logs import MatchLogs, match_logs
from asfound.jobs.plot_clock import plot_match
from asfound.jobs.plot_speed import plot_pulses, plot_watch
from asfound.jobs.read_pulses import PulseLog
from asfound.jobs.watch_speed import WatchSpeed, watch_speed
from asfound.model.drive_log import Track
from asfound.model.track_log import TrackLog

STEPS = st.sampled_from([0.1, 1.0, 2.0, 10.0, 86_400.0, 3e8])
FIX = st.tuples(
    STEPS,
    st.sampled_from([0.0, 45.0, 89.999, -90.0, float("nan")]),
    st.floats(-180, 180),
    st.sampled_from([0.0, 0.01, 20.0, 69.0, float("nan")]),
)
FIXES = st.lists(FIX, min_size=1, max_size=30)


def log(fixes: list[tuple[float, float, float, float]]) -> TrackLog:
    columns = np.array(fixes).T
    columns[0] = np.cumsum(columns[0])
    columns[2] = np.where(np.isnan(columns[1]), np.nan, columns[2])
    return TrackLog("odd", Track(columns[0], columns[1], columns[2], columns[3], columns[3]), {})


@settings(deadline=None)
@given(FIXES)
def test_speeds(fixes: list[tuple[float, float, float, float]]) -> None:
    request = WatchSpeed((log(fixes),), 50, 0, 0, (20, 50, 80), budget=1)
    try:
        made = watch_speed(request)
    except AsfoundError as error:
        assert "\n" not in str(error)
    else:
        assert made.days >= 1 and made.count >= 0
        assert plot_watch(request, made) is not None


@settings(deadline=None)
@given(FIXES, FIXES)
def test_clocks(
    one: list[tuple[float, float, float, float]], two: list[tuple[float, float, float, float]]
) -> None:
    request = MatchLogs(log(one), log(two), 60)
    try:
        made = match_logs(request)
    except AsfoundError as error:
        assert "\n" not in str(error)
    else:
        assert made.sure or made.findings
        plot_match(request, made)


@settings(deadline=None)
@given(FIXES, st.lists(st.tuples(STEPS, st.floats(0, 1e6)), min_size=2, max_size=30), st.booleans())
def test_pulses(
    fixes: list[tuple[float, float, float, float]], pulses: list[tuple[float, float]], align: bool
) -> None:
    steps, counts = np.array(pulses).T
    counted = PulseLog("odd.csv", np.cumsum(steps), counts, 0, ())
    request = CalibratePulses(counted, log(fixes), 8000.0, align=align)
    try:
        made = calibrate_pulses(request)
    except AsfoundError as error:
        assert "\n" not in str(error)
    else:
        plot_pulses(request, made)
