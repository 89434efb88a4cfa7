"""Closed visits leave as one signed bag, with all that they rest on; the store stays as it is."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass

from asfound.errors import AsfoundError, IntegrityError, NotFound, UsageError
from asfound.jobs.bag_pack import Payload, seal
from asfound.jobs.bundle_drives import entries_of_drives, pictures_of
from asfound.jobs.bundle_known import (
    BLOBS,
    KnownVisit,
    Source,
    aside_blobs,
    known_visit,
)
from asfound.jobs.bundle_lines import RECORDS, write_lines
from asfound.jobs.footage_requests import list_requests
from asfound.jobs.visit_fold import fold
from asfound.jobs.visit_gates import secrets_shown
from asfound.model.bundle import Book, Bundle
from asfound.model.journal import Entry
from asfound.model.place_picture import PlacePicture
from asfound.ports.bags import NewBag
from asfound.ports.blobs import Blobs
from asfound.ports.clock import Clock
from asfound.ports.progress import Progress, silent
from asfound.ports.signatures import KeyPair, Signatures


@dataclass(frozen=True, slots=True)
class ExportBundle:
    """Pack these visits, or ``notes`` instead: all holds, requests, logs of deletions and of
    drives of this home, of whatever vehicle. ``passwords``: also a visit that was closed
    although stored photographs show passwords, which then leave with it."""

    visits: tuple[str, ...]
    passwords: bool = False
    notes: bool = False


@dataclass(frozen=True, slots=True)
class ExportDesk:
    """What packing works with."""

    source: Source
    blobs: Blobs
    clock: Clock
    signatures: Signatures


@dataclass(frozen=True, slots=True)
class BundleExported:
    """``files`` and ``size`` [bytes] of the payload, entries in it, the public key in figures,
    and how many files of a killed run were removed first."""

    visits: tuple[str, ...]
    entries: int
    files: int
    size: int
    public: str
    removed: int


def export_bundle(
    request: ExportBundle,
    key: KeyPair,
    *,
    bag: NewBag,
    desk: ExportDesk,
    progress: Progress = silent,
) -> BundleExported:
    """Check the visits, then write, read again and sign the bag.

    Raises NotFound (no such visit), UsageError (it is open, it shows passwords, the place is
    taken), IntegrityError (what is stored was altered), StorageError, Interrupted; then no bag has
    the name.
    """
    if bool(request.visits) == request.notes:
        raise UsageError("name closed visits to pack, or say --notes and none")
    gather = _notes if request.notes else _gathered
    bundle, names = gather(request, key, desk)
    removed = bag.begin()
    try:
        began = desk.clock.now()
        lines = write_lines(bundle)
        bag.write(RECORDS, lines)
        sums = {RECORDS: hashlib.sha256(lines).hexdigest()}
        size = len(lines)
        for number, name in enumerate(names):
            progress(number, len(names), name[:12])
            copied = bag.copy(desk.blobs.path(name), BLOBS + name)
            if copied.sha256 != name:
                raise IntegrityError(
                    f"{desk.blobs.path(name)}: not the bytes that were stored; bring the file "
                    "back from a copy"
                )
            sums[BLOBS + name] = copied.sha256
            size += copied.size
        visits = tuple(sorted({entry.visit for entry in bundle.visits}))
        what = ", ".join(visits) or "holds, requests, deletions and drives"
        info = {"External-Description": f"asfound bundle of {what}"}
        seal(bag, Payload(sums, size, began), info, {}, key=key, signatures=desk.signatures)
        bag.finish()
        progress(len(names), len(names), "")
    finally:
        bag.drop()
    entries = len(bundle.visits) + len(bundle.requests) + len(bundle.drives)
    return BundleExported(visits, entries, len(sums), size, key.public.hex(), removed)


def _gathered(
    request: ExportBundle, key: KeyPair, desk: ExportDesk
) -> tuple[Bundle, tuple[str, ...]]:
    """The records, and the names of the blobs that go along."""
    source, store = desk.source, desk.source.store
    entries: list[Entry] = []
    names: set[str] = set()
    vehicles: set[str] = set()
    for visit in dict.fromkeys(request.visits):
        stored = [*store.entries(visit), *source.merging.set_aside(Book.VISIT, visit)]
        if not stored:
            raise NotFound(f"no visit {visit!r}; `asfound visit list` shows them")
        known = known_visit(visit, stored, desk.blobs.get)
        _may_leave(known, request)
        names.update(known.blobs)
        for chain in known.aside:
            names.update(_shown_to_nobody(chain, desk.blobs))
        vehicles.add(known.state.vehicle.number)
        entries += stored
    places = [one for number in sorted(vehicles) for one in store.place_pictures(number)]
    names.update(one.picture for one in places if desk.blobs.has(one.picture))
    drives = entries_of_drives(source, vehicles)
    names.update(_signatures(drives, desk.blobs))
    bundle = Bundle(
        key.public.hex(),
        tuple(entries),
        tuple(_requests(source, vehicles)),
        tuple(hold for number in sorted(vehicles) for hold in store.holds(number)),
        tuple(tick for visit in dict.fromkeys(request.visits) for tick in store.ticks(visit)),
        _oldest_first(places),
        drives,
    )
    return bundle, tuple(sorted(names))


def _notes(_: ExportBundle, key: KeyPair, desk: ExportDesk) -> tuple[Bundle, tuple[str, ...]]:
    """What this home knows beside its visits."""
    source = desk.source
    requests = [*source.requests.request_entries(), *source.merging.set_aside(Book.REQUEST)]
    holds, drives = tuple(source.store.holds()), entries_of_drives(source, None)
    if not (requests or holds or drives):
        raise UsageError("there are no holds, requests, deletions or drives here yet")
    bundle = Bundle(key.public.hex(), requests=tuple(requests), holds=holds, drives=drives)
    return bundle, tuple(sorted(_signatures(drives, desk.blobs)))


def _signatures(drives: Sequence[Entry], blobs: Blobs) -> set[str]:
    """What hand-overs were signed with, as far as it is here."""
    return {name for name in pictures_of(drives) if blobs.has(name)}


def _may_leave(known: KnownVisit, request: ExportBundle) -> None:
    state = known.state
    if not state.closed:
        raise UsageError(f"visit {state.id} is open; `asfound visit close {state.id}` comes first")
    shown = secrets_shown(state)
    if shown is not None and not request.passwords:
        raise UsageError(
            f"visit {state.id}: {shown}; they would leave with it. With --with-passwords they do"
        )


def _shown_to_nobody(chain: Sequence[Entry], blobs: Blobs) -> tuple[str, ...]:
    """Blobs of a branch that does not count, unless they may show passwords."""
    chain = tuple(chain)
    try:
        if secrets_shown(fold(chain, blobs.get)) is not None:
            return ()
    except AsfoundError:
        # The branch that counts may have let some of them be deleted.
        return ()
    return tuple(name for name in aside_blobs(chain, blobs.get) if blobs.has(name))


def _requests(source: Source, vehicles: set[str]) -> list[Entry]:
    found: list[Entry] = []
    for one in list_requests(source.requests):
        if one.vehicle in vehicles:
            found += source.requests.request_entries(one.id)
            found += source.merging.set_aside(Book.REQUEST, one.id)
    return found


def _oldest_first(places: Sequence[PlacePicture]) -> tuple[PlacePicture, ...]:
    return tuple(sorted(places, key=lambda one: (one.vehicle, one.at, one.picture)))
