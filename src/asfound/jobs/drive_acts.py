"""What people write down of drives: registered, fitted, pulled, handed over, put, found, judged."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from asfound.calc.drive_names import same_serial, serial_fault
from asfound.calc.smart_json import read_smart
from asfound.errors import UsageError
from asfound.jobs.drive_fold import MOVES, PLACES
from asfound.jobs.drive_health import drive_health
from asfound.jobs.drive_register import DriveDesk, list_drives, one_drive, present, write_drive
from asfound.jobs.visit_journal import named, reasoned, tidy
from asfound.jobs.visit_sign import cleaned
from asfound.model.drive_register import DRIVE_KINDS, DriveState
from asfound.model.fleet import Vehicle
from asfound.model.journal import rfc3339
from asfound.ports.clock import Clock
from asfound.ports.pictures import Pictures

MOST_BYTES = 10**16
"""No drive of a recorder holds ten thousand terabytes; more is a slip of the key (own choice)."""
TELL = timedelta(minutes=2)
"""Clocks of two computers that agree lie no further apart (own choice)."""


@dataclass(frozen=True, slots=True)
class RegisterDrive:
    """Take a drive into the register. ``vehicle``: it is fitted there, since nobody knows when;
    None: whoever registers it has it. ``new``: it has never recorded."""

    serial: str
    kind: str
    capacity_bytes: int
    by: str
    model: str = ""
    vehicle: Vehicle | None = None
    new: bool = False


@dataclass(frozen=True, slots=True)
class MoveDrive:
    """The drive (serial number, id or label) was fitted in, or pulled from, ``vehicle``; ``when``
    (aware): None = now."""

    drive: str
    vehicle: Vehicle
    by: str
    reason: str
    when: datetime | None = None


@dataclass(frozen=True, slots=True)
class HandDrive:
    """``by`` hands the drive to ``to``, who signs: by a picture file's bytes, or the name alone."""

    drive: str
    to: str
    by: str
    reason: str
    where: str = ""
    picture: bytes | None = None
    when: datetime | None = None


@dataclass(frozen=True, slots=True)
class PutDrive:
    """``by`` put the drive into a bag, on a desk, into a store; or found it (``place`` "")."""

    drive: str
    place: str
    by: str
    reason: str
    where: str = ""
    when: datetime | None = None


@dataclass(frozen=True, slots=True)
class JudgeDrive:
    """What the drive reports of itself (SMART), as `asfound drive health` takes it."""

    drive: str
    report: bytes
    by: str


def register_drive(request: RegisterDrive, *, desk: DriveDesk) -> DriveState:
    """Register it, or mend what was registered of it. Raises UsageError, StorageError,
    IntegrityError."""
    by, spelled, serial = named(request.by), tidy(request.serial), same_serial(request.serial)
    wrong = serial_fault(serial)
    if wrong:
        raise UsageError(f"serial number {spelled!r}: {wrong}; copy it from the drive's label")
    if request.kind not in DRIVE_KINDS:
        raise UsageError(f"kind {tidy(request.kind)!r}: choose one of {', '.join(DRIVE_KINDS)}")
    if not 0 < request.capacity_bytes <= MOST_BYTES:
        raise UsageError(f"a drive of {request.capacity_bytes} bytes: give its size as labelled")
    if request.new and request.vehicle is not None:
        raise UsageError("a drive that is fitted has recorded; leave out that it is new")
    standing = {one.serial: one for one in list_drives(desk.log, desk.store)}
    state = standing.get(serial, DriveState(serial, "", spelled))
    if request.new and state.stays:
        raise UsageError(f"drive {spelled} was in {state.stays[0].vehicle}; it is not new")
    data = {
        "serial": spelled, "kind": request.kind, "bytes": request.capacity_bytes,
        "model": tidy(request.model), "new": request.new,
        "vehicle": request.vehicle.number if request.vehicle else "",
    }  # fmt: skip
    return write_drive(desk, state, by, "registered", data)


def fit_drive(request: MoveDrive, *, desk: DriveDesk) -> DriveState:
    """It went into the vehicle. Raises NotFound, UsageError, StorageError, IntegrityError."""
    return _moved(request, "fitted", {"vehicle": request.vehicle.number}, desk)


def pull_drive(request: MoveDrive, *, desk: DriveDesk) -> DriveState:
    """It came out of the vehicle, and whoever pulled it has it. Raises as ``fit_drive``."""
    return _moved(request, "pulled", {"vehicle": request.vehicle.number}, desk)


def hand_drive(request: HandDrive, *, desk: DriveDesk, pictures: Pictures) -> DriveState:
    """Handed over; what the receiver signs is the drive's story up to its last event. Raises as
    ``fit_drive``, and PictureError."""
    receiver = tidy(request.to)
    if not receiver:
        raise UsageError("say who receives it: --to NAME")
    if receiver.casefold() == tidy(request.by).casefold():
        raise UsageError(
            f"{receiver} cannot hand a drive to himself or herself; name somebody else"
        )
    named(request.by), reasoned(request.reason)
    state = registered(request.drive, desk)
    said_when(request.when, state, desk.clock)
    data: dict[str, object] = {
        "to": receiver, "where": tidy(request.where), "head": state.events[-1].hash,
    }  # fmt: skip
    if request.picture is not None:
        # The picture is stored before the entry that names it.
        data["picture"] = desk.blobs.put(cleaned(request.picture, pictures))
    return _moved(request, "handed", data, desk)


def put_drive(request: PutDrive, *, desk: DriveDesk) -> DriveState:
    """In a bag, on a desk, in a store. Raises as ``fit_drive``."""
    if request.place not in PLACES:
        raise UsageError(f"--in {tidy(request.place)!r}: choose one of {', '.join(PLACES)}")
    data = {"place": request.place, "where": tidy(request.where)}
    return _moved(request, "put", data, desk)


def found_drive(request: PutDrive, *, desk: DriveDesk) -> DriveState:
    """Somebody looked and has it now, wherever it was said to be: that settles what did not go
    together before. Raises as ``fit_drive``."""
    where = tidy(request.where)
    if not where:
        raise UsageError("say where it was found: --where TEXT")
    return _moved(request, "found", {"where": where}, desk)


def judge_drive(request: JudgeDrive, *, desk: DriveDesk) -> DriveState:
    """Keep the verdict on what the drive reports. Raises UsageError when the report is another
    drive's, InputError, NotFound, StorageError, IntegrityError."""
    by, state = named(request.by), registered(request.drive, desk)
    report = read_smart(request.report)
    if same_serial(report.serial) != state.serial:
        told = f"drive {report.serial}" if report.serial.strip() else "a drive without a number"
        raise UsageError(f"the report is of {told}, not of {state.spelled}; take its own")
    health = drive_health(report, desk.clock.now())
    data = {
        "verdict": health.verdict.value,
        "notes": [*(one.note for one in health.findings), *health.unclear],
        "taken": rfc3339(report.taken) if report.taken else "",
    }
    return write_drive(desk, state, by, "checked", data)


def registered(name: str, desk: DriveDesk) -> DriveState:
    """The drive, which somebody has registered. Raises NotFound, UsageError."""
    state = one_drive(name, desk.log, desk.store)
    if not state.registered:
        raise UsageError(
            f"drive {state.spelled} is named by a visit but not registered; "
            f"asfound drive register {state.spelled} --kind KIND --size SIZE --by NAME"
        )
    return state


def said_when(when: datetime | None, state: DriveState, clock: Clock) -> dict[str, str]:
    """The time that was said, if it can be. Raises UsageError."""
    if when is None:
        return {}
    if when.tzinfo is None:
        raise UsageError("--when needs a zone, e.g. 2026-11-25T08:00:00+01:00")
    if when > present(clock, state) + TELL:
        raise UsageError("that lies in the future; look at the time, and at the clock")
    before = [one.when for one in state.events if one.kind in MOVES]
    if before and when < max(before):
        raise UsageError(
            f"that lies before the drive's last move ({rfc3339(max(before))[:16]}Z); "
            f"asfound drive show {state.spelled}"
        )
    return {"when": rfc3339(when)}


def _moved(
    request: MoveDrive | HandDrive | PutDrive, kind: str, data: Mapping[str, Any], desk: DriveDesk
) -> DriveState:
    by, reason = named(request.by), reasoned(request.reason)
    state = registered(request.drive, desk)
    when = said_when(request.when, state, desk.clock)
    return write_drive(desk, state, by, kind, {**data, **when, "reason": reason})
