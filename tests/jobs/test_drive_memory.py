"""The register kept in memory says what the whole register says, and reads what is new alone."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.drive_desk import BUS, LORRY, drive_desk, drive_visit, enter, move, other_home
from tests.visit_kit import VEHICLE

from asfound.errors import AsfoundError
from asfound.jobs import drive_memory
from asfound.jobs.drive_acts import fit_drive, pull_drive
from asfound.jobs.drive_memory import DriveMemory
from asfound.jobs.drive_register import DriveDesk, list_drives
from asfound.jobs.visit_act import AddNote, note
from asfound.jobs.visit_journal import Desk
from asfound.model.journal import Entry
from asfound.ports.store import Store

SERIALS = st.sampled_from(["", "S-1", "S-2", "S-9", "s 9"])
VEHICLES = st.sampled_from([BUS, LORRY, VEHICLE])


def _noted(at: DriveDesk) -> None:
    """The newest visit grows by what says nothing of drives."""
    visit = at.store.visits()[0]
    note(AddNote(visit, "ada", "rain"), desk=Desk(at.store, at.blobs, at.clock))


Act = Callable[[DriveDesk], object]
ACTS: st.SearchStrategy[Act] = st.one_of(
    st.builds(lambda name, on: lambda at: enter(at, name, on), SERIALS, VEHICLES),
    st.builds(lambda name, on: lambda at: pull_drive(move(name, on), desk=at), SERIALS, VEHICLES),
    st.builds(
        lambda name, on: lambda at: fit_drive(move(name, on), desk=other_home(at)),
        SERIALS,
        VEHICLES,
    ),
    st.builds(
        lambda out, into, on: lambda at: drive_visit(at, out, into, on), SERIALS, SERIALS, VEHICLES
    ),
    st.just(_noted),
)


@settings(max_examples=25)
@given(st.lists(ACTS, min_size=1, max_size=6), st.sampled_from([0, 100]))
def test_it_says_what_the_whole_register_says(acts: Sequence[Act], at_once: int) -> None:
    memory = DriveMemory()
    with TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
        patch.setattr(drive_memory, "AT_ONCE", at_once)
        at = drive_desk(Path(folder))
        for act in acts:
            try:
                act(at)
            except (AsfoundError, IndexError):
                continue
            assert memory.drives(at.log, at.store) == list_drives(at.log, at.store)


class Watched:
    """A store that tells which visits were read, and refuses to go through all of them."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self.read: list[str] = []

    def line_stamp(self) -> str:
        return self._store.line_stamp()

    def line_heads(self) -> Mapping[str, str]:
        return self._store.line_heads()

    def entries(self, visit: str) -> Sequence[Entry]:
        self.read.append(visit)
        return self._store.entries(visit)

    def closed_entries(self, kind: str) -> Sequence[Entry]:
        raise AssertionError(f"went through all visits for {kind}")


def test_a_visit_is_read_again_when_it_grew(tmp_path: Path) -> None:
    at, memory = drive_desk(tmp_path), DriveMemory()
    one = drive_visit(at, out="S-1", into="S-9")
    two = drive_visit(at, vehicle=LORRY)
    store = Watched(at.store)

    def read() -> list[str]:
        store.read.clear()
        memory.drives(at.log, store)  # type: ignore[arg-type] # what it asks of a store
        return sorted(store.read)

    assert read() == sorted([one, two])
    assert read() == []
    note(AddNote(one, "ada", "rain"), desk=Desk(at.store, at.blobs, at.clock))
    assert read() == [one]
    three = drive_visit(at, vehicle=LORRY)
    assert read() == [three]
