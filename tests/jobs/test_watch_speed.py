"""Speed triggers. Expected: by hand. The band (Garwood) is checked against SciPy in calc."""

from __future__ import annotations

from datetime import timedelta, timezone

import numpy as np
import pytest

from asfound.errors import UsageError
from asfound.jobs.plot_speed import plot_watch
from asfound.jobs.watch_speed import SpeedFault, WatchSpeed, speeds_of, watch_speed
from asfound.model.drive_log import Track
from asfound.model.track_log import TrackLog
from simulated_drives import drive, receiver

NOON = 1_780_056_000.0
"""2026-05-29T12:00:00Z."""


def log(kmh: list[float], start: float = NOON) -> TrackLog:
    nothing = np.full(len(kmh), np.nan)
    times = start + np.arange(len(kmh), dtype=float)
    return TrackLog("log", Track(times, nothing, nothing, np.array(kmh) / 3.6, nothing), {})


def test_events_and_days() -> None:
    first = log([70, 86, 86, 86, 86, 70, 90, 70])
    second = log([70, 70], NOON + 86_400)
    made = watch_speed(WatchSpeed((second, first), 80, 5, 3, (80, 90), (0, 1, 3)))
    assert (made.days, made.count, made.a_day) == (2, 1, 0.5)
    assert made.table == ((2, 1, 1), (0, 0, 0))
    assert made.top_kmh == pytest.approx(90)
    assert [one.kind for one in made.findings] == [SpeedFault.OVER]
    assert made.findings[0].note == "85 km/h were passed once, by up to 1.0 km/h"
    assert made.km == pytest.approx((70 / 2 + 86 * 4 + 70 + 90 + 70 / 2 + 70) / 3600)


def test_days_are_those_of_the_zone() -> None:
    late = log([50] * 10, NOON + 11 * 3600 + 3595)
    assert watch_speed(WatchSpeed((late,), 80)).days == 2
    east = timezone(timedelta(hours=2))
    assert watch_speed(WatchSpeed((late,), 80, zone=east)).days == 1


def test_a_budget_takes_days_to_tell() -> None:
    quiet = log([50, 50, 90, 50])
    request = WatchSpeed((quiet,), 80, 0, 0, (60, 70, 80, 90, 100), (0,), budget=2)
    made = watch_speed(request)
    assert made.kept_kmh == 60 and made.sure_kmh is None
    assert [one.kind for one in made.findings] == [SpeedFault.OVER, SpeedFault.UNCERTAIN]
    many = watch_speed(WatchSpeed((quiet,), 80, 0, 0, (20, 80, 90), (0,), budget=0.5))
    assert many.kept_kmh == 90, "below 20 km/h the drive is one event, and 80 is passed"
    assert many.findings[1].kind is SpeedFault.BUDGET
    plot = plot_watch(request, made)
    assert plot is not None and "budget" in plot.names


def test_speeds_from_positions() -> None:
    made = drive(1200, 10)
    track, own = speeds_of(receiver(made, 1200, 0.0, speeds=False, tunnels=0))
    true = np.interp(track.times_s - 1_780_000_000.0, made.times, made.speed)
    known = np.isfinite(track.speed_ms)
    assert not own and np.median(np.abs(track.speed_ms - true)[known]) < 0.3


def test_a_log_without_anything() -> None:
    with pytest.raises(UsageError, match="no speed between two fixes"):
        watch_speed(WatchSpeed((log([50]),), 80))
