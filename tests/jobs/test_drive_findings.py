"""What does not go together in the register, beside fleet file, visits, holds and requests."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from tests.drive_desk import (
    BUS,
    FLEET,
    LORRY,
    drive_desk,
    drive_visit,
    enter,
    move,
    other_home,
)
from tests.visit_kit import T0, SetClock

from asfound.jobs.drive_acts import (
    HandDrive,
    PutDrive,
    RegisterDrive,
    fit_drive,
    found_drive,
    hand_drive,
    pull_drive,
    register_drive,
)
from asfound.jobs.drive_erasure import RetireDrive, WipeDrive, retire_drive, wipe_drive
from asfound.jobs.drive_findings import drive_findings
from asfound.jobs.drive_register import DriveDesk, list_drives
from asfound.jobs.holds import PlaceHold, place_hold
from asfound.model.drive_register import DriveFound
from asfound.model.fleet import Fleet
from asfound.model.hold import Hold
from asfound.ports.backends.pictures_pillow import PillowPictures
from asfound.ports.store import Store

DAY = timedelta(days=1)
WIPE = WipeDrive("S-1", "destroy", "shredded", "a firm", "ada", "worn", "bo")
RETIRE = RetireDrive("S-1", "scrapped", "ada", "worn")


@pytest.fixture
def at(tmp_path: Path) -> DriveDesk:
    return drive_desk(tmp_path)


def findings(at: DriveDesk, fleet: Fleet = FLEET) -> tuple[DriveFound, ...]:
    return drive_findings(
        list_drives(at.log, at.store), fleet, T0 + DAY, store=at.store, requests=at.requests
    )  # fmt: skip


def kinds(at: DriveDesk, fleet: Fleet = FLEET) -> list[tuple[str, str]]:
    return [(one.kind, one.serial) for one in findings(at, fleet)]


def both(at: DriveDesk) -> None:
    enter(at)
    enter(at, "S-2", LORRY)


def test_nothing_is_found_when_register_and_fleet_file_agree(at: DriveDesk) -> None:
    assert kinds(at) == [("unregistered", "s-1"), ("unregistered", "s-2")]
    both(at)
    assert kinds(at) == []


def test_a_drive_that_a_visit_names_is_to_be_registered(at: DriveDesk) -> None:
    both(at)
    made = drive_visit(at, "S-1", "S-7")
    found = {one.serial: one for one in findings(at) if one.kind == "unregistered"}
    assert list(found) == ["s-7"] and made in found["s-7"].note and found["s-7"].vehicle == "217"


def test_a_drive_in_two_places(at: DriveDesk) -> None:
    both(at)
    fit_drive(move("S-1", LORRY, "bo"), desk=at)
    found = findings(at)
    assert [(one.kind, one.vehicle) for one in found] == [
        ("elsewhere", "217"), ("too-many", "305"), ("two-places", "217"),
    ]  # fmt: skip
    twice = replace(FLEET, vehicles=(BUS, replace(LORRY, drive=BUS.drive)))
    assert ("two-places", "s-1") in kinds(at, twice)
    found_drive(PutDrive("S-1", "", "bo", "counted", "305, lower bay"), desk=at)
    assert kinds(at) == [("elsewhere", "s-1")]
    moved = replace(FLEET, vehicles=(replace(BUS, drive=None), LORRY))
    assert kinds(at, moved) == []


def test_two_homes_that_both_fitted_it(at: DriveDesk) -> None:
    """Two computers, each with its own log, put together: both acts stand, the fault is told."""
    enter(at, vehicle=None)
    fit_drive(move("S-1"), desk=at)
    fit_drive(move("S-1", LORRY, "bo"), desk=other_home(at))
    assert ("two-places", "s-1") in kinds(at)


def test_a_custody_gap(at: DriveDesk) -> None:
    both(at)
    pull_drive(move("S-1"), desk=at)
    hand_drive(HandDrive("S-1", "cy", "bo", "r"), desk=at, pictures=PillowPictures())
    gap = next(one for one in findings(at) if one.kind == "gap")
    assert gap.note == "handed to cy by bo, who did not have it: it was with ada"


def test_a_visit_that_does_not_say_which_drive(at: DriveDesk) -> None:
    both(at)
    made = drive_visit(at)
    [found] = findings(at)
    assert found.kind == "not-told" and made in found.note
    fit_drive(move("S-1"), desk=at)
    assert kinds(at) == [("not-told", "s-1")]
    pull_drive(move("S-1"), desk=at)
    assert kinds(at) == [("elsewhere", "s-1")]


def test_retired_without_proof(at: DriveDesk) -> None:
    spare = replace(FLEET, vehicles=(replace(BUS, drive=None), replace(LORRY, drive=None)))
    enter(at)
    pull_drive(move("S-1"), desk=at)
    retire_drive(RETIRE, desk=at)
    assert [one.note for one in findings(at, spare)] == [
        "retired (scrapped) without a proof of erasure that counts: none is recorded"
    ]
    wipe_drive(replace(WIPE, verified_by=""), desk=at)
    assert "nobody verified it" in findings(at, spare)[0].note
    wipe_drive(WIPE, desk=at)
    assert kinds(at, spare) == []


def test_wiped_on_one_computer_while_a_hold_stood_on_another(at: DriveDesk) -> None:
    """The home that wiped did not know of the hold: put together, it is told."""
    both(at)
    pull_drive(move("S-1"), desk=at)
    span = (T0 - 3 * DAY, T0 - 2 * DAY)
    wiped = wipe_drive(replace(WIPE), desk=at)
    order = PlaceHold(BUS, *span, "claim", "office")
    late = place_hold(order, store=at.store, clock=SetClock(wiped.wipes[-1].at))
    assert "held" not in [kind for kind, _ in kinds(at)]
    early = place_hold(order, store=at.store, clock=SetClock(wiped.wipes[-1].at - DAY))
    [held] = [one for one in findings(at) if one.kind == "held"]
    assert early.id in held.note and late.id not in held.note and "wiped by ada" in held.note


def test_held_footage_in_another_vehicle(at: DriveDesk) -> None:
    both(at)
    span = (T0 - 3 * DAY, T0 - 2 * DAY)
    place_hold(PlaceHold(BUS, *span, "claim", "office"), store=at.store, clock=SetClock())
    assert kinds(at) == []
    pull_drive(move("S-1"), desk=at)
    fit_drive(move("S-1", LORRY), desk=at)
    told = {one.kind: one for one in findings(at)}
    assert "overwrites" in told["held-moved"].note and told["held-moved"].vehicle == "305"


def test_two_people_registered_it_differently_and_a_clock_runs_ahead(at: DriveDesk) -> None:
    both(at)
    later = replace(other_home(at), clock=SetClock(T0 + 9 * DAY))
    register_drive(RegisterDrive("S-1", "hdd", 10**12, "bo"), desk=later)
    assert kinds(at) == [("clock", "s-1"), ("differs", "s-1")]
    assert len(list_drives(at.log, at.store)) == 2


class Counted:
    """A store that counts how often its holds are read."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self.asked = 0

    def holds(self, vehicle: str | None = None) -> Sequence[Hold]:
        self.asked += 1
        return self._store.holds(vehicle)


def test_holds_are_read_once_for_all_drives(at: DriveDesk) -> None:
    both(at)
    store, drives = Counted(at.store), list_drives(at.log, at.store)
    assert sum(bool(state.vehicle) for state in drives) > 1
    drive_findings(
        drives, FLEET, T0, store=store, requests=at.requests  # type: ignore[arg-type] # holds alone
    )  # fmt: skip
    assert store.asked == 1
