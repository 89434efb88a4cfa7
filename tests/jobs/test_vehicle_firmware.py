"""What is known of a vehicle's firmware, and which images may go on a stick."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from tests.visit_kit import MAP, T0, VEHICLE, desk, opened

from asfound.errors import NotFound, UsageError
from asfound.jobs.vehicle_firmware import (
    FirmwareKnown,
    WayAsked,
    allowed_image,
    firmware_known,
    vehicle_request,
)
from asfound.model.firmware import (
    Approval,
    Catalogue,
    Image,
    ModelFirmware,
    OrderKind,
    VersionScheme,
    Withdrawal,
)

SCHEME = VersionScheme("dotted", OrderKind.DOTTED)
GOOD = Image(
    MAP.id, ("B",), "2.0", "good.bin", 3, "0" * 64,
    approved=(Approval("North", "ada", date(2026, 1, 2)),),
)  # fmt: skip
GONE = replace(
    GOOD, version="3.0", file="gone.bin", withdrawn=Withdrawal(date(2026, 2, 1), "loses the clock")
)
CATALOGUE = Catalogue(
    (ModelFirmware(MAP.id, SCHEME),), (GOOD, GONE), ((VEHICLE.recorder.serial, "B"),)
)


def test_the_newest_visit_of_this_recorder_counts(tmp_path: Path) -> None:
    at = desk(tmp_path)
    state = replace(opened(at), firmware_left="2.0", closed_at=T0)
    assert firmware_known(VEHICLE, [], None) == FirmwareKnown("1.0", "", None, "")
    known = firmware_known(VEHICLE, [state], CATALOGUE)
    assert known == FirmwareKnown("2.0", state.id, T0, "B")
    swapped = replace(VEHICLE, recorder=replace(VEHICLE.recorder, serial="TT-2"))
    assert firmware_known(swapped, [state], CATALOGUE) == FirmwareKnown("1.0", "", None, "")


def test_hardware_is_never_guessed() -> None:
    unknown = FirmwareKnown("1.0", "", None, "")
    bare = replace(CATALOGUE, hardware=())
    # Though every image is for hardware B.
    with pytest.raises(UsageError, match="not known; read it off the label"):
        vehicle_request(VEHICLE, "North", unknown, bare, WayAsked())
    made = vehicle_request(VEHICLE, "North", unknown, bare, WayAsked("C", "1.5", "2.0"))
    assert (made.hardware, made.installed, made.to, made.fleet) == ("C", "1.5", "2.0", "North")
    with pytest.raises(UsageError, match="said to be hardware C and hardware B"):
        vehicle_request(VEHICLE, "North", unknown, CATALOGUE, WayAsked("C"))


def test_only_what_the_fleet_may_have_goes_on_a_stick() -> None:
    assert allowed_image(CATALOGUE, "North", "good.bin") is GOOD
    with pytest.raises(UsageError, match="withdrawn on 2026-02-01: loses the clock"):
        allowed_image(CATALOGUE, "North", "gone.bin")
    with pytest.raises(UsageError, match="not approved for South"):
        allowed_image(CATALOGUE, "South", "good.bin")
    with pytest.raises(NotFound):
        allowed_image(CATALOGUE, "North", "../good.bin")
