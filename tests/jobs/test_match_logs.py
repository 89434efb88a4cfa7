"""The recorder's clock by two logs. Convention: offset = recorder - true (14:07:30 shown at
14:03:12 is +4 min 18 s, computed by hand)."""

from __future__ import annotations

import numpy as np
import pytest

from asfound.errors import UsageError
from asfound.jobs.match_logs import MatchFault, MatchLogs, match_logs
from asfound.jobs.plot_clock import plot_match
from asfound.model.drive_log import Track
from asfound.model.track_log import TrackLog
from simulated_drives import drive, receiver, recorder


def logs(seed: int, minutes: float, allowed: float | None = None) -> MatchLogs:
    made = drive(seed, minutes)
    shown = recorder(made, seed, 258.0, (10, minutes * 60 - 10))
    other = TrackLog("reference", receiver(made, seed, 0.0), {})
    return MatchLogs(TrackLog("recorder", shown, {}), other, allowed_s=allowed)


def test_an_offset_beyond_what_is_allowed() -> None:
    asked = logs(1400, 15, 60)
    made = match_logs(asked)
    assert made.sure and made.match is not None
    assert made.match.offset_s == pytest.approx(258, abs=0.2)
    assert made.findings[0].kind is MatchFault.OFF and " s ahead, 60 s" in made.findings[0].note
    plot = plot_match(asked, made)
    assert plot is not None and plot.names == ("recorder, put right", "reference")


def test_could_not_tell() -> None:
    short = match_logs(logs(1401, 2.5))
    assert not short.sure and short.findings[0].kind is MatchFault.UNKNOWN
    assert plot_match(logs(1401, 2.5), short) is None
    one, two = logs(1402, 15), logs(1403, 15)
    other = match_logs(MatchLogs(one.recorder, two.reference))
    assert not other.sure and other.findings[0].kind is MatchFault.UNKNOWN


def test_a_log_without_speeds() -> None:
    nothing = np.full(5, np.nan)
    empty = TrackLog("empty", Track(np.arange(5.0), nothing, nothing, nothing, nothing), {})
    with pytest.raises(UsageError, match="empty: neither speeds nor positions"):
        match_logs(MatchLogs(empty, logs(1404, 5).reference))


def test_logs_that_lie_years_apart_or_last_for_weeks() -> None:
    asked = logs(1405, 15)
    track = asked.recorder.track
    old = Track(
        track.times_s - 9000 * 86_400,
        *(getattr(track, name) for name in ("lat_deg", "lon_deg", "speed_ms", "course_deg")),
    )
    made = match_logs(MatchLogs(TrackLog("recorder", old, {}), asked.reference))
    assert made.match is None and "days apart" in made.findings[0].note
    times, nothing = np.array([0.0, 3e7, 6e8]), np.full(3, np.nan)
    long = TrackLog("long", Track(times, nothing, nothing, np.ones(3), nothing), {})
    with pytest.raises(UsageError, match="more than 8 days"):
        match_logs(MatchLogs(long, long))
