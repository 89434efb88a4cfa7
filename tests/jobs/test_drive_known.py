"""Which drive requested footage is on, by the register, and where that drive is now."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from tests.drive_desk import BUS, LORRY, drive_desk, drive_visit, enter, move
from tests.visit_kit import T0

from asfound.calc.days_kept import Band
from asfound.jobs.drive_acts import (
    HandDrive,
    RegisterDrive,
    fit_drive,
    hand_drive,
    pull_drive,
    register_drive,
)
from asfound.jobs.drive_erasure import WipeDrive, wipe_drive
from asfound.jobs.drive_known import DrivesOf, drives_of
from asfound.jobs.drive_register import DriveDesk, list_drives
from asfound.jobs.kept_hours import Kept
from asfound.jobs.request_known import known_of
from asfound.jobs.request_where import Located, Where, locate
from asfound.model.footage_request import FootageRequest
from asfound.ports.backends.pictures_pillow import PillowPictures

DAY = timedelta(days=1)
HOUR = timedelta(hours=1)
KEPT = Kept(Band(80, 100, 120), 24.0, "proof")
NOW = T0 + HOUR


@pytest.fixture
def at(tmp_path: Path) -> DriveDesk:
    return drive_desk(tmp_path)


def known(at: DriveDesk) -> DrivesOf:
    told = known_of("217", store=at.store, blobs=at.blobs)
    return drives_of("217", "S-1", told.swaps, list_drives(at.log, at.store))


def where(at: DriveDesk, start: datetime) -> Located:
    asked = FootageRequest("a", "217", start, start + HOUR, (), "w", "i", "o", NOW)
    found = known(at)
    there = Where(found.serial, KEPT, swaps=found.swaps, drives=found.drives)
    return locate(asked, there, NOW)


def put_in(at: DriveDesk, serial: str, days: float) -> None:
    register_drive(RegisterDrive(serial, "ssd", 10**12, "ada"), desk=at)
    fit_drive(replace(move(serial), when=T0 - days * DAY), desk=at)


def take_out(at: DriveDesk, serial: str, days: float) -> None:
    pull_drive(replace(move(serial), when=T0 - days * DAY), desk=at)


def test_without_the_register_the_fleet_file_and_visits_count(at: DriveDesk) -> None:
    assert known(at) == DrivesOf("S-1", ())
    made = drive_visit(at)
    [swap] = known(at).swaps
    assert (swap.visit, swap.serial, known(at).serial) == (made, "S-1", "S-1")


def test_the_drive_that_was_in_the_vehicle_then_and_where_it_is(at: DriveDesk) -> None:
    put_in(at, "S-1", 30)
    take_out(at, "S-1", 9)
    put_in(at, "S-7", 9)
    handed = HandDrive("S-1", "Ines", "ada", "to copy", "claims desk")
    hand_drive(handed, desk=at, pictures=PillowPictures())
    found = known(at)
    assert found.serial == "S-7"
    assert [(one.serial, one.at) for one in found.swaps] == [
        ("", T0 - 30 * DAY),
        ("S-1", T0 - 9 * DAY),
    ]
    before, since, first = where(at, T0 - 11 * DAY), where(at, T0 - DAY), where(at, T0 - 31 * DAY)
    assert (before.drive, before.fitted) == ("S-1", False)
    assert before.place == "with Ines (claims desk)" and before.likely_there == 1.0
    assert (since.drive, since.fitted, since.place) == ("S-7", True, "fitted in 217")
    assert since.likely_there == 1.0
    assert first.drive == "" and first.place == "" and not first.fitted
    assert any("another drive went in" in line for line in first.notes)


def test_a_visit_that_says_which_drives_is_enough(at: DriveDesk) -> None:
    made = drive_visit(at, "S-1", "S-7")
    found = known(at)
    assert found.serial == "S-7" and [one.serial for one in found.swaps] == ["S-1"]
    asked = where(at, T0 - DAY)
    assert (asked.drive, asked.place, asked.fitted) == ("S-1", "with ada", False)
    assert made not in " ".join(asked.notes) and "came out" in " ".join(asked.notes)


def test_a_visit_after_a_swap_names_the_drive_that_the_register_knows(at: DriveDesk) -> None:
    """The fleet file still says S-1; the register knows that S-7 went in."""
    put_in(at, "S-7", 9)
    drive_visit(at)
    assert [one.serial for one in known(at).swaps] == ["", "S-7"]
    told = where(at, T0 - 2 * DAY)
    assert told.drive == "S-7" and told.likely_there == 0.0
    assert any("formatted or emptied" in line for line in told.notes)


def test_put_back_for_a_while_is_no_swap(at: DriveDesk) -> None:
    put_in(at, "S-1", 30)
    take_out(at, "S-1", 2)
    fit_drive(replace(move("S-1"), when=T0 - 2 * DAY + HOUR), desk=at)
    told = where(at, T0 - 3 * DAY)
    assert (told.drive, told.fitted, told.likely_there) == ("S-1", True, 1.0)


def test_what_was_wiped_is_gone_and_what_ran_elsewhere_cannot_be_told(at: DriveDesk) -> None:
    put_in(at, "S-1", 30)
    take_out(at, "S-1", 9)
    fit_drive(replace(move("S-1", LORRY), when=T0 - 8 * DAY), desk=at)
    told = where(at, T0 - 11 * DAY)
    assert told.likely_there is None and "fitted in 305 afterwards" in " ".join(told.notes)
    pull_drive(replace(move("S-1", LORRY), when=T0 - 7 * DAY), desk=at)
    wipe = WipeDrive("S-1", "clear", "overwritten", "a tool", "ada", "reuse", "bo")
    wipe_drive(wipe, desk=at)
    gone = where(at, T0 - 11 * DAY)
    assert gone.likely_there == 0.0 and any("was wiped" in line for line in gone.notes)


def test_registered_in_a_vehicle_since_nobody_knows_when(at: DriveDesk) -> None:
    enter(at, "S-1", BUS)
    assert known(at).swaps == () and known(at).serial == "S-1"
    take_out(at, "S-1", 0)
    assert known(at).serial == "" and [one.serial for one in known(at).swaps] == ["S-1"]
