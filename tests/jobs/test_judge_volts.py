"""From voltages to causes, with the rules that ship: cases of the trade (common practice)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.errors import UsageError
from asfound.jobs.judge_volts import Diagnosis, JudgeVolts, Standing, judge_volts
from asfound.ports.backends.voltage_rules_toml import load_voltage_rules

RULES = load_voltage_rules()
NAMES = [name for name, place in RULES.readings.items() if not place.given]


def judged(system: int, meter: float = 0.01, **readings: float) -> Diagnosis:
    named = {name.replace("_", "-"): volts for name, volts in readings.items()}
    return judge_volts(JudgeVolts(system, named, meter), RULES)


SOUND_12 = {
    "battery_off": 12.65, "battery_on": 12.5, "battery_running": 14.2, "battery_cranking": 10.6,
    "fuse_in_on": 12.48, "fuse_out_on": 12.42, "plug_off": 12.6, "plug_on": 12.3,
    "plug_open": 12.5, "plug_running": 14.0, "plug_cranking": 10.4, "ignition_off": 0.0,
    "ignition_on": 12.4, "ignition_cranking": 10.2, "earth_on": 0.06, "recorder_least": 9.0,
    "recorder_most": 36.0, "lead_drop": 0.08,
}  # fmt: skip


@pytest.mark.parametrize(
    ("system", "readings", "cause"),
    [
        (12, {"battery_off": 11.7}, "battery-flat"),
        (24, {"battery_off": 25.2, "battery_cranking": 17.0}, "battery-worn"),
        (24, {"lower_off": 12.7, "upper_off": 12.1}, "bank-unequal"),
        (24, {"battery_off": 25.4, "battery_running": 25.3}, "not-charging"),
        (12, {"battery_off": 12.5, "battery_running": 15.9}, "overcharging"),
        (12, {"battery_off": 25.2}, "other-system"),
        (24, {"battery_off": 12.6}, "other-system"),
        (24, {"battery_on": 25.0, "plug_on": 12.5}, "half-bank"),
        (24, {"battery_on": 25.0, "fuse_in_on": 0.0}, "isolator-off"),
        (24, {"battery_on": 25.0, "fuse_in_on": 25.0, "fuse_out_on": 0.0}, "fuse-blown"),
        (12, {"fuse_in_on": 12.4, "fuse_out_on": 11.6}, "fuse-contact"),
        (24, {"fuse_out_on": 25.0, "plug_on": 0.0, "earth_on": 0.0}, "plus-open"),
        (24, {"fuse_out_on": 25.0, "plug_on": 21.0, "earth_on": 0.1, "lead_drop": 0.3},
         "plus-joint"),
        (12, {"earth_on": 1.4}, "bad-earth"),
        (12, {"battery_on": 12.4, "plug_on": 10.7, "fuse_out_on": 12.3, "earth_on": 0.7,
              "lead_drop": 0.8}, "thin-leads"),
        (24, {"plug_on": 24.8, "ignition_on": 0.2}, "ignition-missing"),
        (24, {"ignition_off": 24.9, "plug_off": 25.0}, "ignition-permanent"),
        (12, {"ignition_off": 3.4}, "ignition-leaks"),
        (12, {"plug_cranking": 9.8, "ignition_cranking": 0.3}, "ignition-drops"),
        (24, {"plug_off": 0.0, "plug_on": 24.6, "ignition_off": 0.0}, "supply-switched"),
        (24, {"plug_off": 0.0, "ignition_off": 24.8}, "feeds-swapped"),
        (24, {"plug_on": 24.8, "recorder_most": 16.0}, "wrong-range"),
        (24, {"plug_running": 27.9, "recorder_most": 16.0}, "wrong-range"),
        (12, {"battery_cranking": 10.2, "plug_cranking": 7.4, "recorder_least": 9.0}, "start-dip"),
        (12, {"plug_open": -12.4}, "reversed"),
        (12, {"battery_on": 12.1, "plug_on": 13.9}, "readings-apart"),
        (12, {"battery_on": 12.4, "plug_on": 12.3, "earth_on": 1.4}, "readings-apart"),
        (12, SOUND_12, "recorder-itself"),
    ],
)  # fmt: skip
def test_each_cause_is_told_by_what_tells_it(
    system: int, readings: dict[str, float], cause: str
) -> None:
    result = judged(system, **readings)
    assert result.causes[0].cause.id == cause, [one.cause.id for one in result.found]
    assert result.causes[0].standing is Standing.LIKELY
    assert all(spoken.rule.source for spoken in result.causes[0].spoken)


def test_every_cause_that_ships_is_among_them() -> None:
    [mark] = test_each_cause_is_told_by_what_tells_it.pytestmark  # type: ignore[attr-defined]
    assert {case[2] for case in mark.args[1]} == set(RULES.causes)


@pytest.mark.parametrize(
    ("system", "readings"),
    [
        (12, SOUND_12),
        (24, {"battery_off": 25.4, "battery_on": 25.1, "battery_running": 28.2,
              "battery_cranking": 21.5, "fuse_in_on": 25.08, "fuse_out_on": 25.0, "plug_off": 25.3,
              "plug_on": 24.8, "plug_open": 25.1, "plug_running": 27.9, "plug_cranking": 21.0,
              "ignition_off": 0.0, "ignition_on": 24.9, "ignition_cranking": 21.0,
              "earth_on": 0.07, "lower_off": 12.7, "upper_off": 12.7, "recorder_least": 10.0,
              "recorder_most": 32.0, "lead_drop": 0.1}),
    ],
)  # fmt: skip
def test_a_sound_vehicle_points_at_the_recorder(system: int, readings: dict[str, float]) -> None:
    result = judged(system, **readings)
    assert [one.cause.id for one in result.found] == ["recorder-itself"]
    assert not result.untold and not result.next


def test_what_was_not_told_and_what_would_tell() -> None:
    result = judged(24, battery_on=25.2, plug_on=0.0)
    suspects = {one.cause.id for one in result.found}
    assert {"isolator-off", "fuse-blown", "plus-open"} <= suspects
    assert all(one.standing is Standing.HINT for one in result.found)
    # The fuse, from both sides, or the earth is what tells them apart.
    assert result.next[0].reading.id in ("fuse-in-on", "fuse-out-on")
    assert "battery-flat" in {one.cause.id for one in result.untold}
    [flat] = [one for one in result.causes if one.cause.id == "battery-flat"]
    assert "battery-off" in flat.lacks


def test_near_a_limit_it_is_a_doubt() -> None:
    # 23.95 V by a meter 1 % off: a quarter of the charge, or not.
    result = judged(24, battery_off=23.95)
    [flat] = result.found
    assert any(spoken.doubt for spoken in flat.spoken)
    sure = judged(24, meter=0.0, battery_off=23.95).found[0]
    assert sure.weight > flat.weight


def test_limits_are_shown_as_they_count() -> None:
    [flat] = judged(24, battery_off=23.0).found
    seen = flat.spoken[-1].seen[0]
    assert (seen.what, seen.measured, seen.below, seen.unit) == ("battery-off", 23.0, 24.0, "V")
    half = judged(24, battery_on=25.0, plug_on=12.5).found[0].spoken[0].seen[1]
    assert half.what == "plug-on / battery-on" and half.unit == "1" and half.below == 0.6


@pytest.mark.parametrize(
    ("system", "readings", "said"),
    [
        (12, {}, "at least one measured voltage"),
        (12, {"recorder_least": 9.0}, "at least one measured voltage"),
        (12, {"lower_off": 12.0}, "no reading 'lower-off' on a 12 V vehicle"),
        (24, {"mast": 12.0}, "no reading 'mast'"),
    ],
)
def test_what_cannot_be(system: int, readings: dict[str, float], said: str) -> None:
    with pytest.raises(UsageError, match=said):
        judged(system, **readings)


@given(
    st.sampled_from((12, 24)),
    st.dictionaries(st.sampled_from(NAMES), st.floats(-40, 40), min_size=1),
    st.floats(0, 0.05),
)
def test_any_readings_are_judged(system: int, readings: dict[str, float], meter: float) -> None:
    if system == 12:
        readings = {name: volts for name, volts in readings.items() if "er-off" not in name}
    if not readings:
        return
    result = judge_volts(JudgeVolts(system, readings, meter), RULES)
    weights = [one.weight for one in result.found]
    assert weights == sorted(weights, reverse=True)
    assert all(one.lacks for one in result.untold)
    assert all(one.reading.id not in readings for one in result.next)
    about = {cause.id for one in result.next for cause in one.causes}
    assert about <= set(RULES.causes)
