"""Is a bundle what it says, and does everything in it belong to its visits? Nothing is written."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from asfound.errors import AsfoundError, IntegrityError
from asfound.jobs.bundle_known import (
    BLOBS,
    KnownVisit,
    aside_blobs,
    known_request,
    known_visit,
)
from asfound.jobs.bundle_lines import RECORDS, Head
from asfound.jobs.holds import YEARS
from asfound.jobs.visit_fold import Fetch
from asfound.model.bundle import Bundle
from asfound.model.journal import Entry


@dataclass(frozen=True, slots=True)
class Checked:
    """Names of the blobs that go along, and what a visit whose branch counts rests on."""

    blobs: tuple[str, ...]
    vehicles: frozenset[str]


def check_bundle(head: Head, bundle: Bundle, sums: Mapping[str, str], fetch: Fetch) -> Checked:
    """Hold records and payload (SHA-256 by name) against each other. Raises IntegrityError."""
    known = {visit: _known(visit, entries, fetch) for visit, entries in _logs(bundle.visits)}
    vehicles = frozenset(one.state.vehicle.number for one in known.values())
    if not known:
        raise IntegrityError(f"{RECORDS}: names no visit")
    for visit, one in known.items():
        if not one.state.closed:
            raise IntegrityError(f"visit {visit}: is open; a bundle holds closed visits")
    for name, entries in _logs(bundle.requests):
        if not any(one.vehicle in vehicles for one in known_request(name, entries)):
            raise IntegrityError(f"request {name}: is of a vehicle that no visit in it is of")
    _belongs(bundle, vehicles)
    needed = {name for one in known.values() for name in one.blobs}
    allowed = needed | {one.picture for one in bundle.places if one.picture}
    for one in known.values():
        for chain in one.aside:
            allowed.update(aside_blobs(chain, fetch))
    there = _payload(sums, allowed)
    missing = needed - there
    if missing:
        raise IntegrityError(f"{BLOBS}{min(missing)}: a visit rests on it, and it is not there")
    return Checked(tuple(sorted(there)), vehicles)


def _known(visit: str, entries: Sequence[Entry], fetch: Fetch) -> KnownVisit:
    try:
        return known_visit(visit, entries, fetch)
    except AsfoundError as error:
        raise IntegrityError(str(error)) from None


def _logs(entries: Sequence[Entry]) -> list[tuple[str, list[Entry]]]:
    logs: dict[str, list[Entry]] = {}
    for entry in entries:
        logs.setdefault(entry.visit, []).append(entry)
    return sorted(logs.items())


def _belongs(bundle: Bundle, vehicles: frozenset[str]) -> None:
    visits = {entry.visit for entry in bundle.visits}
    for hold in bundle.holds:
        if hold.vehicle not in vehicles:
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
