"""The wheel-pulse constant. Sources: km/h = 3600 Hz / k (identity); tyre code and the ETRTO factor
3.05 (from memory); range 4000 to 25000 of EU tachograph rules (from memory)."""

from __future__ import annotations

import numpy as np
import pytest
from tests.drive_logs import as_pulses, pulses_of

from asfound.calc.log_values import TimeForm
from asfound.calc.tyre import parse_tyre
from asfound.errors import InputError, UsageError
from asfound.jobs.calibrate_pulses import CalibratePulses, PulseFault, calibrate_pulses
from asfound.jobs.plot_speed import plot_pulses
from asfound.jobs.read_pulses import PulseForm
from asfound.model.track_log import TrackLog
from simulated_drives import drive, pulse_counts, receiver

FORM = PulseForm(times=TimeForm.SECONDS)


def request(seed: int, per_km: float, minutes: float = 25, **known: object) -> CalibratePulses:
    made = drive(seed, minutes)
    log = as_pulses(pulses_of(*pulse_counts(made, seed, per_km, 7.0)), FORM)
    return CalibratePulses(log, TrackLog("t", receiver(made, seed, 0.0), {}), **known)  # type: ignore[arg-type]


def test_a_wrong_setting_is_named_with_its_effect() -> None:
    """More pulses than the recorder expects: it shows 8230 / 8000 of the speed, 2.9 % too much."""
    asked = request(1300, 8230, setting=8000.0)
    made = calibrate_pulses(asked)
    assert made.rate is not None and made.match is not None
    assert made.rate.per_km == pytest.approx(8230, rel=2e-3)
    assert made.match.offset_s == pytest.approx(7.0, abs=0.2)
    assert made.shown_share == pytest.approx(0.029, abs=2e-3)
    [found] = made.findings
    assert found.kind is PulseFault.SETTING and found.note.endswith("too high")
    plot = plot_pulses(asked, made)
    assert plot is not None and "set, 8000 a km" in plot.names


def test_what_fits_is_no_finding() -> None:
    tyre = parse_tyre("295/80R22.5")
    per_km = 26 * tyre.rolling_turns
    made = calibrate_pulses(request(1301, per_km, tyre=tyre, per_turn=26.0))
    assert not made.findings and made.per_turn is not None
    assert made.per_turn[0] < 26 < made.per_turn[1]


def test_a_tyre_that_does_not_fit_and_a_rate_out_of_range() -> None:
    tyre = parse_tyre("295/80R22.5")
    made = calibrate_pulses(request(1302, 3000, tyre=tyre, per_turn=26.0))
    assert [one.kind for one in made.findings] == [PulseFault.RANGE, PulseFault.TYRE]


def test_too_little_and_clocks_that_cannot_be_matched() -> None:
    made = calibrate_pulses(request(1303, 8000, minutes=4))
    assert made.rate is None
    assert [one.kind for one in made.findings] == [PulseFault.CLOCKS, PulseFault.FEW]
    assert plot_pulses(request(1303, 8000, minutes=4), made) is None


def test_frequencies() -> None:
    made = drive(1304, 20)
    track = TrackLog("t", receiver(made, 1304, 0.0), {})
    at = np.arange(0, 1190.0)
    hertz = np.interp(at, made.times, made.speed) * 8
    text = "t;f\n" + "\n".join(
        f"{a + 1_780_000_000:.0f};{h:.2f}" for a, h in zip(at, hertz, strict=True)
    )
    form = PulseForm({"time": "t", "hz": "f"}, TimeForm.SECONDS)
    found = calibrate_pulses(
        CalibratePulses(
            as_pulses(text.replace(".", ","), PulseForm(form.columns, form.times, comma=True)),
            track,
        )
    )
    assert found.rate is not None and found.rate.per_km == pytest.approx(8000, rel=3e-3)


def test_pulse_logs_with_broken_lines() -> None:
    log = as_pulses(
        "time,count\n1780000000,1\nx,2\n1780000001\n1780000001,-2\n1780000002,5\n", FORM
    )
    assert (len(log.times_s), log.left_out) == (2, 3)
    assert log.faults[0].where == "pulses.csv:3"
    for text, error in (("", InputError), ("a,b\n1,2\n", UsageError), ("time,count\n", InputError)):
        with pytest.raises(error, match=r"pulses\.csv"):
            as_pulses(text, FORM)


def test_a_track_without_a_way() -> None:
    asked = request(1305, 8000)
    track = asked.track.track
    nothing = np.full(len(track), np.nan)
    empty = type(track)(track.times_s, nothing, nothing, nothing, nothing)
    with pytest.raises(UsageError, match="neither speeds nor positions"):
        calibrate_pulses(CalibratePulses(asked.pulses, TrackLog("t", empty, {})))
