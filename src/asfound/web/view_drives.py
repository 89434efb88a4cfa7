"""The register of drives as pages show it: what is wrong first, then each drive with its story."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from asfound.calc.drive_names import register_id, same_serial
from asfound.jobs.drive_findings import drive_findings
from asfound.jobs.drive_locks import Lock, locks
from asfound.jobs.drive_register import drive_among, fitted_in, wanted_serial
from asfound.model.drive_register import DriveFound, DriveState
from asfound.web.driving import story_head
from asfound.web.requesting import Looks
from asfound.web.services import Services
from asfound.web.slugs import slug
from asfound.web.step_pages import N_
from asfound.web.view_fleet import PAGE

SAID = (N_("wiped"), N_("retired"), N_("bag"), N_("desk"), N_("store"))
"""Words that stand in the holes of what jobs say of drives."""


@dataclass(frozen=True, slots=True)
class FoundRow:
    """A finding, and the id of its drive; ``registered``: somebody registered that drive."""

    found: DriveFound
    id: str
    spelled: str
    registered: bool


@dataclass(frozen=True, slots=True)
class DriveRow:
    """A drive in the list; ``wrong``: so many findings are about it."""

    state: DriveState
    wrong: int


@dataclass(frozen=True, slots=True)
class DrivesView:
    """Findings and drives that fit what was looked for, ``troubles`` and ``fits`` in all, page
    ``number`` of ``pages``; ``all`` drives there are."""

    found: tuple[FoundRow, ...]
    troubles: int
    rows: tuple[DriveRow, ...]
    fits: int
    all: int
    number: int
    pages: int


@dataclass(frozen=True, slots=True)
class LockRow:
    """Why it must not be wiped or retired, and the page where that is settled ("" = here)."""

    lock: Lock
    page: str


@dataclass(frozen=True, slots=True)
class DriveView:
    """One drive: ``head`` is what an act must name."""

    state: DriveState
    head: str
    found: tuple[FoundRow, ...]
    locks: tuple[LockRow, ...]


def drives_view(looks: Looks, services: Services, asked: str = "", number: int = 1) -> DrivesView:
    """The register, or what of it ``asked`` is part of (also what a label's code says). Raises
    NotFound, InputError (fleet file), IntegrityError, StorageError."""
    drives = looks.drives()
    found = found_rows(services, drives)
    wrong: dict[str, int] = {}
    for row in found:
        wrong[row.found.serial] = wrong.get(row.found.serial, 0) + 1
    rows = [DriveRow(state, wrong.get(state.serial, 0)) for state in drives]
    rows.sort(key=lambda row: (not row.wrong, row.state.serial))
    if asked.strip():
        words, label = asked.casefold().split(), wanted_serial(asked)
        rows = [
            row
            for row in rows
            if label in (row.state.serial, row.state.id.casefold()) or _has(row.state, words)
        ]
        found = tuple(
            row
            for row in found
            if label == row.found.serial
            or all(word in _text_of(row.found, row.spelled, row.id) for word in words)
        )
    pages = max(1, -(-max(len(found), len(rows)) // PAGE))
    number = min(max(1, number), pages)
    shown = slice((number - 1) * PAGE, number * PAGE)
    return DrivesView(
        found[shown], len(found), tuple(rows[shown]), len(rows), len(drives), number, pages
    )


def drive_view(name: str, looks: Looks, services: Services) -> DriveView:
    """One drive by serial number or id. Raises NotFound, InputError, IntegrityError,
    StorageError."""
    desk, drives = services.desk, looks.drives()
    state = drive_among(name, drives)
    found = tuple(
        row
        for row in found_rows(services, _beside(state, drives), {state.serial})
        if row.found.serial == state.serial
        or (row.found.kind == "too-many" and row.found.vehicle == state.vehicle)
    )
    shut = locks(state, store=desk.store, requests=services.requests)
    vehicles = {hold.id: hold.vehicle for hold in desk.store.holds()}
    return DriveView(
        state,
        story_head(state),
        found,
        tuple(LockRow(one, _page(one, vehicles.get(one.id, ""))) for one in shut),
    )


def _beside(state: DriveState, drives: Sequence[DriveState]) -> tuple[DriveState, ...]:
    """The drive, and those said to be in its vehicle."""
    return tuple(
        one
        for one in drives
        if one.serial == state.serial or (state.vehicle and one.vehicle == state.vehicle)
    )


def found_rows(
    services: Services, drives: Sequence[DriveState], serials: Collection[str] | None = None
) -> tuple[FoundRow, ...]:
    """All findings, with how their drives are called; ``serials``: drives of the fleet file that
    matter (None: all). Raises as ``drives_view``."""
    known = {state.serial: state for state in drives}
    fleet = services.shelf.fleet()
    if serials is not None:
        those = (
            one for one in fleet.vehicles if one.drive and same_serial(one.drive.serial) in serials
        )
        fleet = replace(fleet, vehicles=tuple(those))
    found = drive_findings(
        drives,
        fleet,
        services.desk.clock.now(),
        store=services.desk.store,
        requests=services.requests,
    )
    named = {same_serial(one.drive.serial): one.drive.serial for one in fleet.vehicles if one.drive}
    rows = []
    for one in found:
        state = known.get(one.serial)
        spelled = state.spelled if state else named.get(one.serial, one.serial)
        there = state is not None and state.registered
        rows.append(FoundRow(one, register_id(one.serial) if state else "", spelled, there))
    return tuple(rows)


def fitted_drives(vehicle: str, services: Services) -> tuple[DriveState, ...]:
    """Drives that are in the vehicle by the register. Raises IntegrityError, StorageError."""
    return fitted_in(vehicle, services.drives, services.desk.store)


def _page(lock: Lock, vehicle: str) -> str:
    if lock.by == "hold":
        return f"/vehicles/{slug(vehicle)}/holds"
    return f"/requests/{lock.id}" if lock.by == "request" else ""


def _has(state: DriveState, words: Sequence[str]) -> bool:
    text = " ".join(
        (state.spelled, state.id, state.model, state.kind, state.vehicle, state.holder, state.where)
    ).casefold()
    return all(word in text for word in words)


def _text_of(found: DriveFound, spelled: str, name: str) -> str:
    return " ".join((spelled, name, found.vehicle, found.note)).casefold()
