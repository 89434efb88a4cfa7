"""What does not go together in the register: drive by drive, beside fleet file, holds, requests."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from asfound.calc.drive_names import same_serial
from asfound.jobs.drive_acts import TELL
from asfound.jobs.drive_locks import carries, held_by
from asfound.jobs.footage_requests import list_requests
from asfound.model.drive_register import Carries, DriveFound, DriveState, Place
from asfound.model.fleet import Fleet
from asfound.model.footage_request import FootageRequest
from asfound.model.hold import Hold
from asfound.ports.request_log import RequestLog
from asfound.ports.store import Store

FITTABLE = 1
"""Drives in a vehicle at once: the fleet file has room for one."""


@dataclass(frozen=True, slots=True)
class Kept:
    """An order or a request, active from ``start`` until ``end`` (None: still is), about
    footage."""

    id: str
    vehicle: str
    first: datetime
    last: datetime
    start: datetime
    end: datetime | None


def drive_findings(
    drives: Sequence[DriveState],
    fleet: Fleet,
    now: datetime,
    *,
    store: Store,
    requests: RequestLog,
) -> tuple[DriveFound, ...]:
    """All findings about all ``drives``, by kind and serial number. Raises IntegrityError,
    StorageError."""
    found = [*_of_fleet(drives, fleet), *_in_one_vehicle(drives)]
    holds, asked = store.holds(), list_requests(requests)
    kept = _kept(holds, asked)
    for state in drives:
        found += _of_drive(state, now)
        found += _destroyed(state, kept)
        found += _moved(state, holds, asked)
    return tuple(sorted(found, key=lambda one: (one.kind, one.serial, one.vehicle, one.note)))


def where_text(state: DriveState) -> str:
    """Where a drive is, in a few words."""
    bare = _place_text(state)
    if state.place is Place.STORE and state.where:
        return f"in store ({state.where})"
    return f"{bare} ({state.where})" if state.where else bare


def _place_text(state: DriveState) -> str:
    match state.place:
        case Place.VEHICLE:
            return f"fitted in {state.vehicle}"
        case Place.BAG:
            return f"with {state.holder}"
        case Place.DESK:
            return f"at the desk of {state.holder}"
        case Place.STORE:
            return "in store"
        case Place.GONE:
            return f"retired: {state.retired_how}"
    return "nobody said where"


def _of_drive(state: DriveState, now: datetime) -> Iterator[DriveFound]:
    for fault in state.faults:
        if not fault.settled:
            yield DriveFound(fault.kind, state.serial, fault.note, fault.vehicle, fault.at)
    if not state.registered:
        visits = list(dict.fromkeys(one.visit for one in state.events))
        note = f"named by visit {visits[0]}, but not registered"
        yield DriveFound("unregistered", state.serial, note, state.vehicle, state.events[0].at)
    if state.place is Place.GONE and state.proof is None:
        why = "nobody verified it" if state.wipes else "none is recorded"
        if state.wipes and state.wipes[-1].verified_by:
            why = "it recorded after that"
        note = f"retired ({state.retired_how}) without a proof of erasure that counts: {why}"
        yield DriveFound("not-proven", state.serial, note, "", state.retired_at)
    late = [one for one in state.events if one.at > now + TELL]
    if late:
        note = (
            f"{late[0].by} wrote into log {late[0].writer} at a time that is still to come; "
            "look at that computer's clock"
        )
        yield DriveFound("clock", state.serial, note, "", late[0].at)


def _of_fleet(drives: Sequence[DriveState], fleet: Fleet) -> Iterator[DriveFound]:
    known = {state.serial: state for state in drives}
    named: dict[str, str] = {}
    for vehicle in fleet.vehicles:
        serial = same_serial(vehicle.drive.serial) if vehicle.drive else ""
        if not serial:
            continue
        if serial in named:
            note = f"the fleet file says that it is in {named[serial]} and in {vehicle.number}"
            yield DriveFound("two-places", serial, note, vehicle.number)
        named[serial] = vehicle.number
        state = known.get(serial)
        if state is None:
            note = "named by the fleet file, but not registered"
            yield DriveFound("unregistered", serial, note, vehicle.number)
        elif state.vehicle != vehicle.number:
            note = (
                f"the fleet file says that it is in {vehicle.number}, the register: "
                f"{where_text(state)}"
            )
            yield DriveFound("elsewhere", serial, note, vehicle.number, state.since)


def _in_one_vehicle(drives: Sequence[DriveState]) -> Iterator[DriveFound]:
    fitted: dict[str, list[DriveState]] = {}
    for state in drives:
        if state.vehicle:
            fitted.setdefault(state.vehicle, []).append(state)
    for vehicle, those in fitted.items():
        if len(those) > FITTABLE:
            listed = ", ".join(state.spelled for state in those)
            note = f"{len(those)} drives are said to be in {vehicle} at once: {listed}"
            yield DriveFound("too-many", those[-1].serial, note, vehicle, those[-1].since)


def _kept(holds: Sequence[Hold], asked: Sequence[FootageRequest]) -> tuple[Kept, ...]:
    orders = [
        Kept(one.id, one.vehicle, one.start, one.end, one.placed_at, one.released_at)
        for one in holds
    ]
    wanted = [Kept(one.id, one.vehicle, one.start, one.end, one.at, one.done_at) for one in asked]
    return (*orders, *wanted)


def _destroyed(state: DriveState, kept: Sequence[Kept]) -> Iterator[DriveFound]:
    """Wiped or retired while a hold or a request was on it: another computer did not know."""
    acts = [(one.at, "wiped", one.by, number) for number, one in enumerate(state.wipes)]
    gone = [one for one in state.events if one.kind == "retired"]
    acts += [(one.at, "retired", one.by, len(state.wipes)) for one in gone]
    for at, what, by, number in acts:
        before = replace(state, wipes=tuple(one for one in state.wipes[:number] if one.at < at))
        for one in kept:
            active = one.start <= at and (one.end is None or one.end > at)
            if active and carries(before, one.vehicle, one.first, one.last) is Carries.YES:
                note = f"{what} by {by} while {one.id} was on footage of {one.vehicle} on it"
                yield DriveFound("held", state.serial, note, one.vehicle, at)


def _moved(
    state: DriveState, holds: Sequence[Hold], asked: Sequence[FootageRequest]
) -> Iterator[DriveFound]:
    """In another vehicle, which overwrites what is held."""
    for lock in held_by(state, holds, asked) if state.vehicle else ():
        vehicles = {one.vehicle for one in holds if one.id == lock.id}
        vehicles |= {one.vehicle for one in asked if one.id == lock.id}
        if vehicles and state.vehicle not in vehicles:
            note = f"fitted in {state.vehicle}, which overwrites it: {lock.why}"
            yield DriveFound("held-moved", state.serial, note, state.vehicle, state.since)
