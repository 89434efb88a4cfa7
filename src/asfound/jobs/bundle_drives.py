"""Logs of drives that belong into a bundle, and what they rest on."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from asfound.errors import IntegrityError
from asfound.jobs.bundle_known import Source, sound_branches
from asfound.jobs.drive_fold import fold_drive
from asfound.jobs.drive_register import drive_events, list_drives
from asfound.model.bundle import Book
from asfound.model.drive_register import DriveEvent, DriveState
from asfound.model.journal import Entry


def entries_of_drives(source: Source, vehicles: Collection[str] | None) -> tuple[Entry, ...]:
    """All branches of the logs of every drive whose story names one of ``vehicles``; None: of all
    drives. Raises IntegrityError, StorageError."""
    stored = [*source.drives.drive_entries(), *source.merging.set_aside(Book.DRIVE)]
    if vehicles is None or not stored:
        return tuple(stored)
    told = list_drives(source.drives, source.store)
    wanted = {state.serial for state in told if _vehicles(state) & set(vehicles)}
    return tuple(entry for entry in stored if serial_of(entry) in wanted)


def check_drives(logs: Mapping[str, Sequence[Entry]]) -> frozenset[str]:
    """Names of the pictures that the logs rest on. Raises IntegrityError: a chain is broken, or
    an entry does not read as one."""
    events: dict[str, list[DriveEvent]] = {}
    pictures: set[str] = set()
    for log, entries in sorted(logs.items()):
        for chain in sound_branches(f"drive log {log}", entries):
            for serial, event in drive_events(chain):
                events.setdefault(serial, []).append(event)
            pictures |= pictures_of(chain)
    for serial in sorted(events):
        try:
            fold_drive(serial, events[serial])
        except (TypeError, AttributeError):
            # Times with and without zone, a text where a number belongs.
            raise IntegrityError(f"drive {serial}: an entry does not read as one") from None
    return frozenset(pictures)


def pictures_of(entries: Sequence[Entry]) -> set[str]:
    """Blobs: what receivers signed hand-overs with."""
    named = (one.data.get("picture") for one in entries if one.kind == "handed")
    return {name for name in named if isinstance(name, str) and name}


def serial_of(entry: Entry) -> str:
    """The normalised serial number that the entry's log is of."""
    return entry.visit.partition("/")[2]


def _vehicles(state: DriveState) -> set[str]:
    named = {str(event.data.get("vehicle", "")) for event in state.events}
    return (named | {state.vehicle} | {stay.vehicle for stay in state.stays}) - {""}
