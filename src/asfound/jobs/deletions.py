"""What must be deleted, and when, by the fleet's longest lawful keeping; and a log of it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from asfound.errors import IntegrityError, UsageError
from asfound.jobs.footage_requests import deletion_log, list_requests, of_deletions, present
from asfound.jobs.visit_journal import named, tidy
from asfound.model.fleet import Fleet
from asfound.model.footage_request import Deleted, FootageRequest, ToDelete
from asfound.model.hold import Hold
from asfound.model.journal import Entry, chain_fault, next_entry
from asfound.ports.clock import Clock
from asfound.ports.request_log import RequestLog
from asfound.ports.store import Store


@dataclass(frozen=True, slots=True)
class LogDeleted:
    """``item`` was deleted, as ``deletions_due`` calls it. ``writer``: the home's tag, which names
    the log (calc/writer_tag.py)."""

    item: str
    by: str
    note: str
    writer: str = ""


def deletions_due(fleet: Fleet, *, log: RequestLog, store: Store) -> tuple[ToDelete, ...]:
    """What is to be deleted, soonest first: the events of each vehicle with a recorder, which
    nothing overwrites, and every copy that was handed over and not deleted yet.

    Raises UsageError when the fleet file names no limit, IntegrityError.
    """
    if fleet.maximum_days is None:
        raise UsageError("the fleet file names no limit: write maximum_days = 31 (docs/fleet.md)")
    most = timedelta(days=fleet.maximum_days)
    done = {one.item: one for one in deletions_done(log)}
    holds: dict[str, list[Hold]] = {}
    for hold in store.holds():
        if hold.active:
            holds.setdefault(hold.vehicle, []).append(hold)
    made = []
    for request in list_requests(log):
        for number, name in enumerate(request.copies, start=1):
            item = copy_item(request, number)
            if item not in done:
                what = f"copy {name} of {request.id}"
                held = tuple(
                    hold.id
                    for hold in holds.get(request.vehicle, ())
                    if hold.start <= request.end and hold.end >= request.start
                )
                made.append(ToDelete(item, request.vehicle, what, request.start + most, held))
    for vehicle in fleet.vehicles:
        item = events_item(vehicle.number)
        last = done.get(item)
        # Of a vehicle whose events were never deleted the oldest may be older than anything known.
        due = last.at + most if last else datetime.fromisoformat("2000-01-01T00:00:00+00:00")
        held = tuple(hold.id for hold in holds.get(vehicle.number, ()))
        what = "events on its drive" if last else "events on its drive; no deletion is logged"
        made.append(ToDelete(item, vehicle.number, what, due, held))
    return tuple(sorted(made, key=lambda one: (one.due, one.item)))


def log_deleted(
    request: LogDeleted, fleet: Fleet, *, log: RequestLog, store: Store, clock: Clock
) -> Deleted:
    """Write down that it was deleted. Raises UsageError (no such item, a hold is on it, no name),
    IntegrityError, StorageError."""
    by, note = named(request.by), tidy(request.note)
    if not note:
        raise UsageError("say how it was deleted: --note TEXT")
    due = {one.item: one for one in deletions_due(fleet, log=log, store=store)}
    item = due.get(request.item)
    if item is None:
        raise UsageError(
            f"{tidy(request.item)!r} is not to be deleted; `asfound request deletions` lists them"
        )
    if item.held:
        raise UsageError(
            f"{item.item}: {item.held[0]} keeps it, so it must not be deleted; release that: "
            f"asfound hold release {item.held[0]}"
        )
    name = deletion_log(request.writer)
    entries = list(log.request_entries(name))
    data = {"item": item.item, "note": note}
    entry = next_entry(entries, name, present(log, clock), by, "deleted", data)
    log.append_request(entry)
    return Deleted(item.item, by, note, entry.at)


def deletions_done(log: RequestLog) -> tuple[Deleted, ...]:
    """Every deletion logged, oldest first. Raises IntegrityError."""
    logs: dict[str, list[Entry]] = {}
    for entry in log.request_entries():
        if of_deletions(entry.visit):
            logs.setdefault(entry.visit, []).append(entry)
    made = [one for entries in logs.values() for one in deletions_in(entries)]
    return tuple(sorted(made, key=lambda one: (one.at, one.item, one.by)))


def deletions_in(entries: Sequence[Entry]) -> tuple[Deleted, ...]:
    """What one log of deletions says. Raises IntegrityError."""
    fault = chain_fault(entries)
    try:
        made = tuple(
            Deleted(str(one.data["item"]), one.by, str(one.data["note"]), one.at) for one in entries
        )
    except KeyError:
        fault = fault or "an entry does not read as one"
    if fault is not None:
        raise IntegrityError(f"log of deletions: {fault}; bring the database back from a copy")
    return made


def copy_item(request: FootageRequest, number: int) -> str:
    """What the request's copy of this number (from 1) is called."""
    return f"{request.id}/copy-{number}"


def events_item(vehicle: str) -> str:
    """What the events of a vehicle are called."""
    return "events-" + (re.sub(r"\s+", "", vehicle) or "vehicle")
