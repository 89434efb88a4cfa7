"""What is typed about speeds and logs, as requests. Units: exact definitions."""

from __future__ import annotations

from datetime import UTC, date

import numpy as np
import pytest

from asfound.calc.log_values import TimeForm
from asfound.errors import UsageError
from asfound.jobs.ask_speed import ask_pulse_form, ask_pulses, ask_speed
from asfound.jobs.ask_track import ask_track
from asfound.jobs.read_pulses import PulseLog
from asfound.model.drive_log import Track
from asfound.model.track_log import TrackLog

NONE = np.zeros(0)
LOG = TrackLog("t", Track(NONE, NONE, NONE, NONE, NONE), {})
PULSES = PulseLog("p", NONE, NONE, 0, ())


def test_speeds() -> None:
    asked = ask_speed(
        {"limit": "50mph", "tolerance": "3km/h", "lasting": "1min", "budget": "2"}, ()
    )
    assert asked.limit_kmh == pytest.approx(80.4672) and asked.tolerance_kmh == 3
    assert asked.least_s == 60 and asked.budget == 2
    assert asked.limits_kmh == tuple(range(50, 111, 5))
    assert ask_speed({"limit": "80km/h", "limits": "60..70/10"}, ()).limits_kmh == (60, 70)


@pytest.mark.parametrize(
    "fields",
    [
        {"limit": "80"},
        {"limit": "0km/h"},
        {"limit": "900km/h"},
        {"tolerance": "few"},
        {"lasting": "2h"},
        {"lasting": "soon"},
        {"limits": "60"},
        {"limits": "70..60"},
        {"limits": "1..250/1"},
        {"limits": "1..250/0"},
        {"budget": "0"},
    ],
)
def test_speeds_that_cannot_be(fields: dict[str, str]) -> None:
    with pytest.raises(UsageError, match=next(iter(fields))):
        ask_speed({"limit": "80km/h"} | fields, ())


def test_logs() -> None:
    asked = ask_track(
        {
            "columns": "time=1, speed=v [kn]", "speed_unit": "knots", "times": "ms", "decimal": ",",
            "day": "2026-11-03",
        }
    )  # fmt: skip
    assert asked.form.columns == {"time": "1", "speed": "v [kn]"}
    assert (asked.form.times, asked.form.comma, asked.form.zone) == (
        TimeForm.MILLISECONDS,
        True,
        UTC,
    )
    assert asked.day == date(2026, 11, 3)
    for fields in (
        {"columns": "time"}, {"columns": "when=1"}, {"columns": "time=1,time=2"},
        {"speed_unit": "furlongs"}, {"times": "min"}, {"zone": "Mars"}, {"decimal": ";"},
        {"day": "today"},
    ):  # fmt: skip
        with pytest.raises(UsageError):
            ask_track(fields)
    assert ask_track({"reference_times": "s"}, "reference_").form.times is TimeForm.SECONDS


def test_pulses() -> None:
    asked = ask_pulses({"setting": "8000", "tyre": "295/80R22.5", "per_turn": "26"}, PULSES, LOG)
    assert (asked.setting, asked.per_turn, asked.align) == (8000, 26, True)
    assert ask_pulse_form({"pulse_columns": "hz=f"}, "pulse_").columns == {"hz": "f"}
    for fields in ({"setting": "many"}, {"tyre": "big"}, {"per_turn": "0"}, {"align": "maybe"}):
        with pytest.raises(UsageError, match=next(iter(fields))):
            ask_pulses(fields, PULSES, LOG)
