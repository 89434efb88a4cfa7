"""Homes with closed visits, and bundles of them, for tests (tests only)."""

from __future__ import annotations

import hashlib
from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import timedelta
from pathlib import Path
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from tests.visit_kit import (
    MAP,
    T0,
    VALUES,
    VEHICLE,
    SetClock,
    no_difference,
    procedure,
    proof,
    reading,
)

from asfound.jobs.bundle_export import BundleExported, ExportBundle, ExportDesk, export_bundle
from asfound.jobs.bundle_import import BundleImported, ImportDesk, import_bundle
from asfound.jobs.bundle_known import Source
from asfound.jobs.footage_requests import AddRequest, add_request
from asfound.jobs.holds import PlaceHold, place_hold
from asfound.jobs.visit_act import CloseVisit, OverrideGate, TickStep, close_visit, override, tick
from asfound.jobs.visit_gates import shut_gates
from asfound.jobs.visit_journal import Desk
from asfound.jobs.visit_open import OpenVisit, open_visit
from asfound.jobs.visit_record import (
    RecordDifference,
    RecordProof,
    RecordReading,
    record_as_found,
    record_difference,
    record_proof,
    record_same_as_found,
)
from asfound.model.finding import ProofVerdict
from asfound.model.key_tick import KeyTick
from asfound.model.place_picture import PlacePicture
from asfound.model.procedure import Procedure, Step
from asfound.model.reading import SecretSpot
from asfound.ports.backends.bag_disk import DiskBag, DiskNewBag
from asfound.ports.backends.blobs_files import FileBlobs
from asfound.ports.backends.signatures_ed25519 import Ed25519
from asfound.ports.backends.store_sql import SqlStore

KEY = Ed25519().pair(b"k" * 32)


@dataclass
class Laptop:
    """A store, blobs and a clock."""

    store: SqlStore
    blobs: FileBlobs
    clock: SetClock

    @property
    def desk(self) -> Desk:
        return Desk(self.store, self.blobs, self.clock)

    @property
    def source(self) -> Source:
        return Source(self.store, self.store, self.store, self.store)

    def export(self, bag: Path, *visits: str, **more: Any) -> BundleExported:
        desk = ExportDesk(self.source, self.blobs, self.clock, Ed25519())
        return export_bundle(ExportBundle(visits, **more), KEY, bag=DiskNewBag(bag), desk=desk)

    def take(self, bag: Path, keys: Collection[bytes] = (KEY.public,)) -> BundleImported:
        desk = ImportDesk(self.store, self.blobs, self.clock, Ed25519())
        return import_bundle(DiskBag(bag), keys, desk=desk)


def laptop(folder: Path, url: str = "sqlite://") -> Laptop:
    """A fresh one."""
    return Laptop(SqlStore(url), FileBlobs(folder / "blobs"), SetClock())


def closed_visit(at: Laptop, tag: str = "", by: str = "ada", secret: bool = False) -> str:
    """An inspection, read, proved and closed over what is left open; returns its id.
    ``secret``: one of its photographs shows a password."""
    made = OpenVisit(
        VEHICLE, "Brindlemere", "Europe/London", procedure("inspection"), MAP, by, None, tag
    )
    desk = at.desk
    state = open_visit(made, store=at.store, blobs=at.blobs, clock=at.clock)
    visit = state.id
    while (step := state.current()) is not None:
        for gate in shut_gates(state, step):
            state = override(OverrideGate(visit, step.id, gate.gate, by, "a test"), desk=desk)
        if step.kind == "close":
            return close_visit(CloseVisit(visit, by), desk=desk).id
        if step.kind == "read-as-found":
            found = reading(VALUES, at.desk)
            if secret:
                spot = SecretSpot("general.code", ((1, 1), (9, 1), (9, 9), (1, 9)))
                shown = replace(found.photos[0], secrets=(spot,))
                found = replace(found, photos=(shown, *found.photos[1:]))
            state = record_as_found(RecordReading(visit, MAP, found, by), desk=desk)
        if step.kind == "read-as-left":
            record_same_as_found(visit, by, desk=desk)
            same = RecordDifference(visit, no_difference(), by)
            state = record_difference(same, desk=desk)
        if step.kind == "prove":
            seen = proof(ProofVerdict.RECORDS, desk)
            state = record_proof(RecordProof(visit, seen, by), desk=desk)
        if step.kind == "check":
            state = tick(TickStep(visit, step.id, by), desk=desk)
        elif not state.is_done(step.id):
            raise AssertionError(f"{step.id} ({step.kind}) is not done")
    raise AssertionError("no step closes it")


def with_more(at: Laptop, visit: str) -> None:
    """A hold, a request, a tick and a photograph of where the recorder sits."""
    order = PlaceHold(VEHICLE, T0 - timedelta(days=2), T0 - timedelta(days=1), "claim", "ada")
    place_hold(order, store=at.store, clock=at.clock)
    asked = AddRequest(
        VEHICLE, T0 - timedelta(days=2), T0 - timedelta(days=1), (1,), "claim", "police", "ada"
    )
    add_request(asked, log=at.store, store=at.store, clock=at.clock)
    at.store.save_tick(KeyTick(visit, "ab" * 12, True, "ada", T0))
    picture = at.blobs.put(b"where the recorder sits")
    at.store.save_place_picture(PlacePicture(VEHICLE.number, picture, "ada", T0))


def dump(store: SqlStore) -> dict[str, object]:
    """All that a store knows, in an order of its own."""
    visits = sorted(store.visits())
    entries = [entry for visit in visits for entry in store.entries(visit)]
    requests = sorted(store.request_entries(), key=lambda one: (one.visit, one.seq))
    vehicles = sorted({str(line.vehicle) for line in store.lines()} | {VEHICLE.number})
    return {
        "entries": [(one.visit, one.seq, one.hash) for one in entries],
        "lines": sorted(store.lines(), key=lambda line: line.id),
        "requests": [(one.visit, one.seq, one.hash) for one in requests],
        "drives": [(one.visit, one.seq, one.hash) for one in store.drive_entries()],
        "aside": [(one.visit, one.seq, one.hash) for one in store.set_aside()],
        "holds": sorted(store.holds(), key=lambda hold: hold.id),
        "ticks": [tick for visit in visits for tick in store.ticks(visit)],
        "places": [one for number in vehicles for one in store.place_pictures(number)],
    }


def small_visit(at: Laptop) -> str:
    """A visit of one step, closed: two entries and its menu map."""
    steps = (Step("end", "End", "Go.", "close"),)
    made = OpenVisit(
        VEHICLE, "Brindlemere", "Europe/London", Procedure("round", "Round", steps), MAP, "ada"
    )
    state = open_visit(made, store=at.store, blobs=at.blobs, clock=at.clock)
    return close_visit(CloseVisit(state.id, "ada"), desk=at.desk).id


def resealed(bag: Path, key: bytes = b"k" * 32) -> None:
    """Sign anew what lies in the bag, as a dishonest owner of a believed key could: by the
    rules of RFC 8493, without asfound's own code."""
    files = sorted(path for path in (bag / "data").rglob("*") if path.is_file())
    sums = [(hashlib.sha256(path.read_bytes()).hexdigest(), path) for path in files]
    lines = "".join(f"{digest}  {path.relative_to(bag)}\n" for digest, path in sums)
    (bag / "manifest-sha256.txt").write_text(lines, encoding="utf-8")
    size = sum(path.stat().st_size for path in files)
    (bag / "bag-info.txt").write_text(f"Payload-Oxum: {size}.{len(files)}\n", encoding="utf-8")
    names = ("bagit.txt", "bag-info.txt", "manifest-sha256.txt")
    tags = "".join(f"{hashlib.sha256((bag / n).read_bytes()).hexdigest()}  {n}\n" for n in names)
    (bag / "tagmanifest-sha256.txt").write_text(tags, encoding="utf-8")
    private = Ed25519PrivateKey.from_private_bytes(key)
    public, signed = private.public_key().public_bytes_raw().hex(), private.sign(tags.encode())
    (bag / "signature-ed25519.txt").write_text(f"public: {public}\nsignature: {signed.hex()}\n")


def nothing_in(at: Laptop) -> bool:
    """Neither records nor blobs."""
    return not at.store.visits() and not at.store.holds() and not at.blobs.root.exists()
