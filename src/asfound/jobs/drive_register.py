"""The register of drives: logs of all homes and what visits say, put together drive by drive."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from asfound.calc.drive_names import ID, read_label, same_serial
from asfound.errors import IntegrityError, NotFound
from asfound.jobs.drive_fold import fold_drive
from asfound.jobs.visit_journal import tidy
from asfound.model.drive_register import DriveEvent, DriveState
from asfound.model.journal import Entry, chain_fault, next_entry
from asfound.model.visit_line import LineQuery
from asfound.ports.blobs import Blobs
from asfound.ports.clock import Clock
from asfound.ports.drive_log import DriveLog
from asfound.ports.request_log import RequestLog
from asfound.ports.signatures import Keys
from asfound.ports.store import Store

WRITER = 16
"""Figures of a home's public key that name its logs."""
TICK = timedelta(microseconds=1)
"""Times in logs are kept to the microsecond."""
Told = tuple[str, DriveEvent]
"""What is said of a drive, after its serial number (normalised)."""

RECENT = 12
"""Visits of a vehicle that are looked through for the drive in it."""


@dataclass(frozen=True)
class DriveDesk:
    """What acts on drives need: logs, visits, holds, requests, pictures, the time, and the key
    that says whose logs are written."""

    log: DriveLog
    store: Store
    requests: RequestLog
    blobs: Blobs
    clock: Clock
    keys: Keys


def writer_of(keys: Keys) -> str:
    """What this home's logs are named by. Raises StorageError, InputError."""
    return keys.own().public.hex()[:WRITER]


def list_drives(log: DriveLog, store: Store) -> tuple[DriveState, ...]:
    """Every drive that a log or a visit names, by serial number. Raises IntegrityError,
    StorageError."""
    events: dict[str, list[DriveEvent]] = {}
    for serial, event in [*log_tells(log.drive_entries()), *visits_tell(store)]:
        events.setdefault(serial, []).append(event)
    return tuple(fold_drive(serial, events[serial]) for serial in sorted(events))


def fitted_in(vehicle: str, log: DriveLog, store: Store) -> tuple[DriveState, ...]:
    """The drives that are in the vehicle, by the logs and its own last visits.

    No other vehicle's visit is read, so that it costs the same in a large fleet: a drive that
    only the visit of another vehicle took away is still here (``list_drives`` and the findings
    know better). Raises IntegrityError, StorageError.
    """
    events: dict[str, list[DriveEvent]] = {}
    for line in store.lines(LineQuery(vehicles=(vehicle,), limit=RECENT)):
        for serial, event in visit_tells(store.entries(line.id)):
            events.setdefault(serial, []).append(event)
    entries = log.drive_entries()
    named = {one.visit.partition("/")[2] for one in entries if one.data.get("vehicle") == vehicle}
    wanted = named | set(events)
    for serial, event in log_tells([e for e in entries if e.visit.partition("/")[2] in wanted]):
        events.setdefault(serial, []).append(event)
    states = (fold_drive(serial, events[serial]) for serial in sorted(events))
    return tuple(state for state in states if state.vehicle == vehicle)


def one_drive(name: str, log: DriveLog, store: Store) -> DriveState:
    """The drive of this serial number, register id, or scanned label. Raises NotFound,
    IntegrityError, StorageError."""
    return drive_among(name, list_drives(log, store))


def drive_among(name: str, drives: Sequence[DriveState]) -> DriveState:
    """The one of ``drives`` of this serial number, register id, or scanned label. Raises
    NotFound."""
    wanted = wanted_serial(name)
    for state in drives:
        if wanted in (state.serial, state.id.casefold()):
            return state
    raise NotFound(f"no drive {tidy(name)!r}; `asfound drive list` shows them")


def wanted_serial(name: str) -> str:
    """The normalised serial number, or the id in small letters, that ``name`` says."""
    text = name.strip()
    if ID.fullmatch(text.upper()):
        return text.casefold()
    return read_label(text) or same_serial(tidy(name))


def write_drive(
    desk: DriveDesk, state: DriveState, by: str, kind: str, data: Mapping[str, Any]
) -> DriveState:
    """Append to this home's log of the drive, durable on return; the state after it.

    The entry is dated after everything that is known of the drive, whatever the clock says: what
    somebody has seen comes before what he does. Raises StorageError; IntegrityError when someone
    else wrote in between.
    """
    name = f"{writer_of(desk.keys)}/{state.serial}"
    entries = desk.log.drive_entries(name)
    entry = next_entry(entries, name, present(desk.clock, state), by, kind, data)
    desk.log.append_drive(entry)
    [(_, event)] = drive_events([entry])
    return fold_drive(state.serial, [*state.events, event])


def present(clock: Clock, state: DriveState) -> datetime:
    """Now, and always after the drive's last event."""
    return max([clock.now(), *(one.at + TICK for one in state.events[-1:])])


def log_tells(entries: Sequence[Entry]) -> Iterator[Told]:
    """What logs of drives, whole ones, say. Raises IntegrityError."""
    logs: dict[str, list[Entry]] = {}
    for entry in entries:
        logs.setdefault(entry.visit, []).append(entry)
    for name, chain in logs.items():
        fault = chain_fault(chain)
        if fault is not None or name.count("/") != 1:
            why = fault or "its name is no <writer>/<serial number>"
            raise IntegrityError(f"drive log {name}: {why}; bring the database back from a copy")
    yield from drive_events(entries)


def drive_events(entries: Iterable[Entry]) -> Iterator[Told]:
    """Each entry of logs of drives as an event, and the serial number that it is of."""
    for one in entries:
        writer, _, serial = one.visit.partition("/")
        yield (
            serial,
            DriveEvent(one.at, writer, one.seq, one.by, one.kind, one.data, hash=one.hash),
        )


def visits_tell(store: Store) -> Iterator[Told]:
    """What visits say of drives: the one in the vehicle at opening, and drive steps."""
    entries = [*store.closed_entries("opened"), *store.closed_entries("step-done")]
    for line in store.lines(LineQuery(closed=False)):
        entries += store.entries(line.id)
    yield from visit_tells(entries)


def visit_tells(entries: Sequence[Entry]) -> Iterator[Told]:
    """What these journals' entries say of drives; openings are among them."""
    facts = {entry.visit: _Opening.of(entry) for entry in entries if entry.kind == "opened"}
    for entry in entries:
        fact = facts.get(entry.visit)
        if fact is None:
            continue
        if entry.kind == "opened" and fact.serial:
            data = {"vehicle": fact.vehicle, "serial": fact.serial}
            yield same_serial(fact.serial), _event(entry, "seen", data)
        elif entry.kind == "step-done" and entry.data.get("step") in fact.steps:
            yield from _of_step(entry, fact)


def _of_step(entry: Entry, fact: _Opening) -> Iterator[Told]:
    out, into = (str(entry.data.get(name, "")) for name in ("drive_out", "drive_in"))
    told = {"vehicle": fact.vehicle, "reason": fact.procedure}
    if out and same_serial(out) != same_serial(into):
        yield same_serial(out), _event(entry, "pulled", {**told, "serial": out})
    if into:
        yield same_serial(into), _event(entry, "fitted", {**told, "serial": into})
    if fact.serial and not (out or into):
        yield same_serial(fact.serial), _event(entry, "changed", {**told, "serial": fact.serial})


@dataclass(frozen=True, slots=True)
class _Opening:
    """What a visit's opening says: vehicle, the drive in it by the fleet file, drive steps."""

    vehicle: str
    serial: str
    procedure: str
    steps: frozenset[str]

    @staticmethod
    def of(entry: Entry) -> _Opening:
        try:
            vehicle, procedure = entry.data["vehicle"], entry.data["procedure"]
            drive = vehicle.get("drive") or {"serial": ""}
            steps = (one["id"] for one in procedure["steps"] if one["kind"] == "drive")
            return _Opening(
                str(vehicle["number"]), str(drive["serial"]).strip(),
                str(procedure["title"]), frozenset(steps),
            )  # fmt: skip
        except (KeyError, TypeError, AttributeError):
            raise IntegrityError(
                f"visit {entry.visit}: its opening does not read as one; bring the database back "
                "from a copy"
            ) from None


def _event(entry: Entry, kind: str, data: Mapping[str, Any]) -> DriveEvent:
    # A visit's id holds no sign that sorts it between the figures of two homes' keys by chance.
    return DriveEvent(
        entry.at, f"visit {entry.visit}", entry.seq, entry.by, kind, data, entry.visit, entry.hash
    )
