"""Settings against the sums: each finding by hand, and nothing said that was not known."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.jobs.check_settings import CheckSettings, check_settings, facts_of
from asfound.model.fleet import Camera as Fitted
from asfound.model.fleet import Drive, Fleet, Recorder, Vehicle
from asfound.model.sums import Facts, SettingFault, SettingFinding, SettingsChecked
from asfound.ports.backends.map_toml import load_map, shipped_map_paths

MAPS = {name: load_map(path) for name, path in shipped_map_paths().items()}
FIRMWARE = {"marrowby-four": "1.12", "quillfen-octad": "3.4.1"}


def values_of(name: str) -> dict[str, str]:
    """Everything on the factory's value, as a recorder after a reset has it."""
    made = {}
    for field in MAPS[name].fields_in(FIRMWARE[name]):
        value = dict(field.defaults).get(FIRMWARE[name], field.default)
        if value is not None and field.settable:
            made[field.id] = value
    return made


def check(name: str, facts: Facts, **changed: str) -> SettingsChecked:
    values = values_of(name) | {key.replace("__", "."): text for key, text in changed.items()}
    return check_settings(CheckSettings(MAPS[name], FIRMWARE[name], values, facts))


def found(checked: SettingsChecked, kind: SettingFault) -> list[SettingFinding]:
    return [one for one in checked.findings if one.kind == kind]


def four(facts: Facts, **changed: str) -> SettingsChecked:
    return check("marrowby-four", facts, **changed)


def test_days_kept_by_the_settings() -> None:
    # 4 channels of 2.0 Mbit/s, 12 h + 300 s run-on: 8e6 / 8 * 43 500 s = 43.5 GB a day; 2 % of
    # 1 TB goes to tables: 980 / 43.5 = 22.5 days, 20 % either way 18.8 to 28.2.
    facts = Facts(drive_bytes=1e12, hours_a_day=12, promised_days=30)
    [few] = found(four(facts), SettingFault.TOO_FEW_DAYS)
    assert few.measured == pytest.approx(980 / 43.5 / 0.8) and few.limit == 30
    assert "channel-1.data-rate" in few.fields
    maybe = found(four(replace(facts, promised_days=20)), SettingFault.MAY_BE_TOO_FEW_DAYS)
    assert maybe[0].measured == pytest.approx(980 / 43.5 / 1.2)
    enough = four(replace(facts, promised_days=18))
    assert not any("days" in one.kind for one in enough.findings)


def test_what_is_deleted_too_soon_or_kept_too_long() -> None:
    facts = Facts(drive_bytes=1e12, hours_a_day=12, promised_days=14, lawful_days=20)
    assert found(four(facts), SettingFault.MORE_DAYS_THAN_LAWFUL)
    kept = four(facts, keeping__days="20")
    assert not found(kept, SettingFault.MORE_DAYS_THAN_LAWFUL), "the recorder deletes in time"
    [soon] = found(four(facts, keeping__days="7"), SettingFault.DELETED_TOO_SOON)
    assert (soon.measured, soon.limit) == (7, 14)
    assert found(four(facts, keeping__recycle="off"), SettingFault.STOPS_WHEN_FULL)
    assert found(four(facts, keeping__mode="Only on trigger"), SettingFault.EVENTS_ONLY)


def test_always_records_all_day_and_events_cannot_be_told() -> None:
    facts = Facts(drive_bytes=1e12, promised_days=30)
    assert any("hours a day" in line for line in four(facts).left_out)
    [few] = found(four(facts, keeping__mode="Non-stop"), SettingFault.TOO_FEW_DAYS)
    assert few.measured == pytest.approx(980 / 86.4 / 0.8)


def test_a_camera_that_is_not_recorded() -> None:
    [off] = found(
        four(Facts(cameras=(1, 2)), **{"channel-2.in-use": "off"}), SettingFault.CAMERA_OFF
    )
    assert "channel 2" in off.note and off.fields == ("channel-2.in-use",)
    spare = four(Facts(cameras=(1,)), **{"channel-2.in-use": "off"})
    assert not found(spare, SettingFault.CAMERA_OFF), "no camera, nothing to record"


def test_too_few_bits() -> None:
    # 0.5 Mbit/s over 1920 x 1080 at 30 a second: 0.008 bits a pixel.
    changed = {
        "channel-1.raster": "1080 lines",
        "channel-1.frames": "30",
        "channel-1.data-rate": "0.5",
    }
    [thin] = found(four(Facts(), **changed), SettingFault.THIN_PICTURE)
    assert thin.measured == pytest.approx(0.5e6 / (1920 * 1080 * 30))
    assert thin.fields == ("channel-1.data-rate",)


@pytest.mark.parametrize(
    ("field", "value", "kinds"),
    [
        # UN R169: 3.25 m/s2 = 0.331 g.
        ("jolts.x", "0.3", [SettingFault.TRIGGER_LOW]),
        ("jolts.x", "0.4", []),
        # 30 to 58 % of emergency stops reach 0.7 to 0.8 g.
        ("jolts.x", "0.9", [SettingFault.TRIGGER_HIGH]),
        ("jolts.y", "0.5", []),
        ("jolts.y", "0.6", [SettingFault.TRIGGER_HIGH]),
    ],
)
def test_shock_thresholds(field: str, value: str, kinds: list[SettingFault]) -> None:
    base = {"jolts.x": "0.5", "jolts.y": "0.4", "jolts.hold": "0.50"}
    checked = four(Facts(), **(base | {field: value}))
    assert [one.kind for one in checked.findings if "trigger" in one.kind] == kinds


def test_a_shock_no_longer_than_a_bump() -> None:
    # 0.4 g for 0.05 s: 0.4 * 9.80665 * 0.05 * 3.6 = 0.706 km/h, below 0.8 km/h (49 CFR 563.5).
    base = {"jolts.x": "0.4", "jolts.y": "0.5", "jolts.hold": "0.05"}
    short = found(four(Facts(), **base), SettingFault.TRIGGER_SHORT)
    assert [one.fields[0] for one in short] == ["jolts.x"]
    assert short[0].measured == pytest.approx(0.706, abs=1e-3)


def test_speed_and_wheel_pulses() -> None:
    # Limiters: 90 km/h for lorries, 100 for buses (Directive 92/6/EEC, from memory).
    fast = {"driving.top-speed": "95"}
    assert found(four(Facts(vehicle_kind="lorry"), **fast), SettingFault.SPEED_HIGH)
    assert not found(four(Facts(vehicle_kind="bus"), **fast), SettingFault.SPEED_HIGH)
    set_to = {"driving.pulses": "8000"}
    facts = Facts(pulses_per_km=(8200, 8240))
    [off] = found(four(facts, **set_to), SettingFault.PULSES)
    assert "2.5% too high" in off.note
    near = Facts(pulses_per_km=(7900, 8100))
    assert not found(four(near, **set_to), SettingFault.PULSES)


def test_cut_offs() -> None:
    # 24 V bank at rest: half charged 24.4 to 24.5 V, full 25.2 to 25.3 V (battery trade's tables).
    facts = Facts(supply_volts=24)
    [low] = found(four(facts, **{"supply.cut-24": "23.0"}), SettingFault.CUT_OFF_LOW)
    assert low.limit == pytest.approx(24.48, abs=0.05)
    assert not found(four(facts, **{"supply.cut-24": "24.5"}), SettingFault.CUT_OFF_LOW)
    eight = check("quillfen-octad", facts, **{"power.cut-off": "25.5", "power.back-on": "25.5"})
    assert found(eight, SettingFault.CUT_OFF_HIGH) and found(eight, SettingFault.CUT_IN)
    wrong = check("quillfen-octad", facts, **{"power.system": "12 V"})
    assert found(wrong, SettingFault.SUPPLY)
    twelve = four(Facts(supply_volts=12), **{"supply.cut-12": "11.5"})
    assert found(twelve, SettingFault.CUT_OFF_LOW)[0].fields == ("supply.cut-12",)


def test_a_run_on_that_drains_the_battery() -> None:
    # 100 Ah from 80 % may give 30 Ah down to half: 10 A for an hour (3600 s) take 10 Ah and are
    # no harm, 48 A for an hour are too much by any reckoning.
    base = Facts(supply_volts=24, battery_ah=100, parked_h=24)
    hour = {"keeping.after-key-off": "3600"}
    assert not found(four(replace(base, draws_a=10), **hour), SettingFault.RUN_ON)
    [long] = found(four(replace(base, draws_a=48), **hour), SettingFault.RUN_ON)
    assert long.measured == 1 and 0 < long.limit < 30 / 48
    assert any("run-on" in line for line in four(base, **hour).left_out)


@pytest.mark.parametrize(
    ("zone", "summer", "wrong"),
    [
        # IANA tz database: London is on UTC+1 from 2026-03-29 01:00Z to 2026-10-25 01:00Z.
        ("0:00", "EU rule", ""),
        ("0:00", "None", ""),
        ("+1:00", "None", "from 2026-01-01 to 2026-03-29 the clock is 1 h ahead"),
        ("+1:00", "EU rule", "from 2026-01-01 to 2027-01-01 the clock is 1 h ahead"),
        # New York changes on 2026-03-08 and 2026-11-01.
        ("0:00", "US rule", "from 2026-03-08 to 2026-03-29 the clock is 1 h ahead"),
    ],
)
def test_the_clock_over_the_year(zone: str, summer: str, wrong: str) -> None:
    facts = Facts(time_zone="Europe/London", year=2026)
    notes = [
        one.note
        for one in found(
            four(facts, **{"time.zone": zone, "time.summer": summer}), SettingFault.ZONE
        )
    ]
    assert [bool(wrong)] * len(notes) == [True] * len(notes) and len(notes) == bool(wrong)
    assert not wrong or notes[0].startswith(wrong)


def test_what_is_not_known_is_left_out_with_the_reason() -> None:
    checked = check_settings(CheckSettings(MAPS["marrowby-four"], "1.12", {}, Facts()))
    assert checked.findings == () and checked.held == ()
    assert len(checked.left_out) == 7 and all(
        "no certain value" in line for line in checked.left_out
    )
    whole = four(Facts())
    assert {line.partition(":")[0] for line in whole.left_out} == {
        "days kept", "speed trigger", "wheel pulses", "cut-off voltage", "run-on",
        "the clock's zone",
    }  # fmt: skip
    assert whole.held == ("shock triggers",)


def test_facts_of_a_fleet() -> None:
    recorder = Recorder("marrowby-four", "1", "1.12", "seat", 24)
    vehicle = Vehicle(
        "1", "A", "bus", "North", "city", recorder, (Fitted(1, "Front"), Fitted(3, "Door")),
        Drive("D", 10**12), hours_a_day=9.5,
    )  # fmt: skip
    fleet = Fleet("F", "Europe/London", (vehicle,), (), 14, 31, 12.0)
    assert facts_of(fleet, vehicle, 2026) == Facts(
        (1, 3), 1e12, 9.5, 7.0, 14, 31, None, "bus", 24, "Europe/London", 2026
    )
    assert facts_of(fleet, replace(vehicle, hours_a_day=None, drive=None), 2026).hours_a_day == 12


@given(
    st.dictionaries(st.sampled_from(sorted(values_of("quillfen-octad"))), st.text(max_size=6)),
    st.sampled_from(
        [Facts(), Facts((1,), 1e12, 9, 5, 14, 31, 3, "bus", 24, "Europe/London", 2026)]
    ),
)
def test_nothing_typed_into_a_menu_breaks_it(changed: Mapping[str, str], facts: Facts) -> None:
    values = values_of("quillfen-octad") | dict(changed)
    check_settings(CheckSettings(MAPS["quillfen-octad"], "3.4.1", values, facts))
