"""A fleet against its menu maps: every planted fault is told, a sound fleet has none."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest
from tests.visit_kit import MAP, STANDARD, VEHICLE

from asfound.calc.fleet_faults import fleet_faults
from asfound.model.fleet import Camera, Fleet, Standard, Vehicle

MAPS = {MAP.id: MAP}


def fleet(*vehicles: Vehicle, standard: Standard = STANDARD) -> Fleet:
    return Fleet("F", "UTC", vehicles or (VEHICLE,), (standard,))


def fitted(**changes: str) -> Vehicle:
    recorder = VEHICLE.recorder
    return replace(
        VEHICLE,
        recorder=replace(
            recorder,
            map_id=changes.get("map_id", recorder.map_id),
            firmware=changes.get("firmware", recorder.firmware),
        ),
    )


def says(values: Mapping[str, str]) -> Standard:
    return Standard(MAP.id, values, {"city": {}})


def test_a_sound_fleet_has_no_faults() -> None:
    other = replace(VEHICLE, number="9", plate="X 9", overrides={"camera-1.size": "CIF"})
    assert fleet_faults(fleet(VEHICLE, other), MAPS) == ()


@pytest.mark.parametrize(
    ("wrong", "says_"),
    [
        (fleet(standard=says({"camera-9.size": "HD"})), "no field 'camera-9.size'"),
        (fleet(standard=says({"camera-1.size": "4K"})), "'4K' is not one of"),
        (fleet(standard=says({"camera-1.record": "On"})), "neither 'on' nor 'off'"),
        (fleet(standard=says({"general.code": "set"})), "passwords are not kept here"),
        (fleet(standard=Standard("none", {}, {})), "no menu map 'none'"),
        (fleet(standard=Standard(MAP.id, {}, {"city": {"x": "y"}})), "class city: menu map"),
        (fleet(standard=Standard(MAP.id, {}, {"coach": {}})), "no class 'city'; it has coach"),
        (fleet(fitted(map_id="none")), "vehicle 217: no menu map 'none'"),
        (fleet(fitted(firmware="7")), "does not describe firmware '7'"),
        (fleet(replace(VEHICLE, cameras=(Camera(3, "Roof"),))), "on channel 3"),
        (fleet(replace(VEHICLE, cameras=(Camera(1, "A"), Camera(1, "B")))), "more than one"),
        (fleet(replace(VEHICLE, overrides={"camera-1.size": "hd"})), "overrides: camera-1.size"),
        (fleet(VEHICLE, replace(VEHICLE, plate="X")), "'217' names more than one vehicle"),
        (fleet(VEHICLE, replace(VEHICLE, number="8")), "'QB 04 XKM' names more than one"),
    ],
)
def test_a_planted_fault_is_told_in_one_line(wrong: Fleet, says_: str) -> None:
    faults = fleet_faults(wrong, MAPS)
    assert any(says_ in fault for fault in faults), faults
    assert not any("\n" in fault for fault in faults)
