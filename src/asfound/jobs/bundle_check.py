"""Is a bundle what it says, and does everything in it belong to its visits? Nothing is written."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from asfound.errors import AsfoundError, IntegrityError
from asfound.jobs.bundle_drives import check_drives
from asfound.jobs.bundle_known import (
    BLOBS,
    KnownVisit,
    aside_blobs,
    known_request,
    known_visit,
    sound_branches,
)
from asfound.jobs.bundle_lines import RECORDS, Head
from asfound.jobs.deletions import deletions_in
from asfound.jobs.footage_requests import of_deletions
from asfound.jobs.holds import YEARS
from asfound.jobs.visit_fold import Fetch
from asfound.model.bundle import Bundle
from asfound.model.journal import Entry

AT_HOME = (
    "; bring the database back from a copy",
    "; bring it back from a copy",
    "; restore from a copy",
)


@dataclass(frozen=True, slots=True)
class Checked:
    """Names of the blobs that go along, and what a visit whose branch counts rests on."""

    blobs: tuple[str, ...]
    vehicles: frozenset[str]


def check_bundle(head: Head, bundle: Bundle, sums: Mapping[str, str], fetch: Fetch) -> Checked:
    """Hold records and payload (SHA-256 by name) against each other. Raises IntegrityError, which
    says what of the bundle is not whole."""
    try:
        return _checked(bundle, sums, fetch)
    except AsfoundError as error:
        # What is said of a store at home is no advice for a bag.
        raise IntegrityError(_of_a_bag(str(error))) from None


def _of_a_bag(told: str) -> str:
    said = told.replace(", or the database back from a copy", ", or ask for another copy")
    for advice in AT_HOME:
        said = said.replace(advice, "; the bundle is not whole, ask for another copy")
    return said


def _checked(bundle: Bundle, sums: Mapping[str, str], fetch: Fetch) -> Checked:
    known = {visit: _known(visit, entries, fetch) for visit, entries in _logs(bundle.visits)}
    vehicles = frozenset(one.state.vehicle.number for one in known.values())
    if not known and not (bundle.requests or bundle.holds or bundle.drives):
        raise IntegrityError(f"{RECORDS}: holds nothing")
    for visit, one in known.items():
        if not one.state.closed:
            raise IntegrityError(f"visit {visit}: is open; a bundle holds closed visits")
    for name, entries in _logs(bundle.requests):
        _request(name, entries, vehicles)
    _belongs(bundle, vehicles)
    needed = {name for one in known.values() for name in one.blobs}
    allowed = needed | {one.picture for one in bundle.places if one.picture}
    allowed |= check_drives(dict(_logs(bundle.drives)))
    for one in known.values():
        for chain in one.aside:
            allowed.update(aside_blobs(chain, fetch))
    there = _payload(sums, allowed)
    missing = needed - there
    if missing:
        path = BLOBS + min(missing)
        raise IntegrityError(f"{path}: a visit rests on it, and it is not there")
    return Checked(tuple(sorted(there)), vehicles)


def _known(visit: str, entries: Sequence[Entry], fetch: Fetch) -> KnownVisit:
    try:
        return known_visit(visit, entries, fetch)
    except AsfoundError as error:
        told = str(error)
        named = visit in told or told.startswith(RECORDS)
        raise IntegrityError(told if named else f"visit {visit}: {told}") from None


def _request(name: str, entries: Sequence[Entry], vehicles: frozenset[str]) -> None:
    """It reads as one, and belongs here: without visits, notes of all vehicles do."""
    if of_deletions(name):
        for chain in sound_branches(name, entries):
            deletions_in(chain)
        if vehicles:
            raise IntegrityError(f"log {name}: logs of deletions come with notes alone")
    elif not any(one.vehicle in vehicles or not vehicles for one in known_request(name, entries)):
        raise IntegrityError(f"request {name}: is of a vehicle that no visit in it is of")


def _logs(entries: Sequence[Entry]) -> list[tuple[str, list[Entry]]]:
    logs: dict[str, list[Entry]] = {}
    for entry in entries:
        logs.setdefault(entry.visit, []).append(entry)
    return sorted(logs.items())


def _belongs(bundle: Bundle, vehicles: frozenset[str]) -> None:
    visits = {entry.visit for entry in bundle.visits}
    for hold in bundle.holds:
        if vehicles and hold.vehicle not in vehicles:
            raise IntegrityError(f"hold {hold.id}: is of a vehicle that no visit in it is of")
        if not all(at.year in YEARS for at in (hold.start, hold.end)):
            raise IntegrityError(f"hold {hold.id}: its times are out of all reason")
    for tick in bundle.ticks:
        if tick.visit not in visits:
            raise IntegrityError(f"tick {tick.mark}: is of a visit that is not in it")
    for place in bundle.places:
        if place.vehicle not in vehicles:
            raise IntegrityError("a photograph of a place is of a vehicle that no visit is of")


def _payload(sums: Mapping[str, str], allowed: set[str]) -> set[str]:
    there: set[str] = set()
    for path, digest in sums.items():
        name = path.removeprefix(BLOBS)
        if path == RECORDS:
            continue
        if not path.startswith(BLOBS) or name not in allowed:
            raise IntegrityError(f"{path}: nothing in it rests on this file")
        if digest != name:
            raise IntegrityError(f"{path}: its name is not the hash of its bytes")
        there.add(name)
    return there
