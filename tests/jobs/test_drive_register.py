"""The drive in one vehicle, told without a look at the visits of the others."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import pytest
from tests.drive_desk import BUS, LORRY, drive_desk, drive_visit, enter, move

from asfound.jobs.drive_acts import fit_drive, pull_drive
from asfound.jobs.drive_register import DriveDesk, fitted_in, list_drives
from asfound.model.fleet import Vehicle
from asfound.ports.store import Store


@pytest.fixture
def at(tmp_path: Path) -> DriveDesk:
    return drive_desk(tmp_path)


def here(at: DriveDesk, vehicle: Vehicle) -> list[str]:
    return [state.spelled for state in fitted_in(vehicle.number, at.log, at.store)]


def _moved(at: DriveDesk) -> None:
    enter(at)
    pull_drive(move("S-1"), desk=at)
    fit_drive(move("S-1", LORRY), desk=at)


def _swapped(at: DriveDesk) -> None:
    enter(at)
    drive_visit(at, out="S-1", into="S-9")


def _visited(at: DriveDesk) -> None:
    drive_visit(at, vehicle=LORRY)


@pytest.mark.parametrize("story", [enter, _moved, _swapped, _visited])
def test_it_is_what_the_whole_register_says(
    at: DriveDesk, story: Callable[[DriveDesk], object]
) -> None:
    story(at)
    known = list_drives(at.log, at.store)
    for vehicle in (BUS, LORRY):
        assert here(at, vehicle) == [one.spelled for one in known if one.vehicle == vehicle.number]
    assert any(here(at, vehicle) for vehicle in (BUS, LORRY))


class Watched:
    """A store that tells which visits were read, and refuses to go through all of them."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self.read: list[str] = []
        self.lines = store.lines

    def entries(self, visit: str) -> Sequence[object]:
        self.read.append(visit)
        return self._store.entries(visit)

    def closed_entries(self, kind: str) -> Sequence[object]:
        raise AssertionError(f"went through all visits for {kind}")


def test_no_visit_of_another_vehicle_is_read(at: DriveDesk) -> None:
    mine = drive_visit(at, out="S-1", into="S-9")
    drive_visit(at, vehicle=LORRY)
    store = Watched(at.store)
    found = fitted_in(BUS.number, at.log, store)  # type: ignore[arg-type] # what it asks of a store
    assert [state.spelled for state in found] == ["S-9"]
    assert store.read == [mine]
