"""What pages and programs write down of drives, each against the head of the story they showed."""

from __future__ import annotations

import base64
import binascii
import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from asfound.errors import UsageError
from asfound.jobs.drive_acts import (
    HandDrive,
    MoveDrive,
    PutDrive,
    fit_drive,
    found_drive,
    hand_drive,
    pull_drive,
    put_drive,
)
from asfound.jobs.drive_erasure import RetireDrive, WipeDrive, retire_drive, wipe_drive
from asfound.jobs.drive_register import DriveDesk, one_drive
from asfound.model.drive_register import DriveEvent, DriveState
from asfound.model.fleet import Vehicle
from asfound.web.problems import Problem
from asfound.web.services import Services
from asfound.web.step_pages import N_
from asfound.web.work_acts import PICTURE_HEAD

_writing = threading.Lock()
"""One act on drives at a time in this process: what was looked at is what is written on."""


class DriveMoved(Problem):
    """An act was made against an older story; ``since`` is what came after it."""

    def __init__(self, drive: str, since: Sequence[DriveEvent], head: str) -> None:
        told = [
            {"kind": item.kind, "by": item.by, "at": item.at.isoformat(), "visit": item.visit}
            for item in since
        ]
        line = N_("somebody else wrote here in between; look at what is new, send it again")
        super().__init__(409, line, {"drive": drive, "head": head, "since": told})
        self.since = tuple(since)


@dataclass(frozen=True, slots=True)
class DriveAct:
    """What happened to ``drive`` (id or serial number), by a story that ended with ``head``. What
    does not belong to the act is ""; ``picture`` is base64, as a drawing surface gives it."""

    drive: str
    head: str
    by: str
    reason: str = ""
    vehicle: str = ""
    to: str = ""
    where: str = ""
    place: str = ""
    picture: str = ""
    category: str = ""
    method: str = ""
    tool: str = ""
    verified_by: str = ""
    how: str = ""
    when: datetime | None = None


def drive_desk(services: Services) -> DriveDesk:
    """What acts on drives need."""
    desk = services.desk
    return DriveDesk(
        services.drives, desk.store, services.requests, desk.blobs, desk.clock, services.keys
    )


def story_head(state: DriveState) -> str:
    """What an act on the drive must name: the hash of its last event."""
    return state.events[-1].hash if state.events else ""


def at_head(drive: str, head: str, desk: DriveDesk) -> DriveState:
    """The drive as whoever acts saw it. Raises NotFound, UsageError (no head), DriveMoved."""
    if not head:
        raise UsageError("the head of the drive's story is missing; load it and send its head")
    state = one_drive(drive, desk.log, desk.store)
    if story_head(state) != head:
        known = [number for number, one in enumerate(state.events) if one.hash == head]
        since = state.events[known[-1] + 1 :] if known else state.events
        raise DriveMoved(state.id, since, story_head(state))
    return state


def act_on(kind: str, act: DriveAct, services: Services) -> DriveState:
    """Write down that it happened; ``kind`` is one of ``ACTS``. Raises DriveMoved, NotFound,
    UsageError, GateShut, PictureError, StorageError, IntegrityError."""
    if not act.by.strip():
        raise UsageError(N_("say who did it: your name"))
    if not act.reason.strip():
        raise UsageError(N_("say why"))
    desk = drive_desk(services)
    with _writing:
        at_head(act.drive, act.head, desk)
        return ACTS[kind](act, desk, services)


def _vehicle(act: DriveAct, services: Services) -> Vehicle:
    if not act.vehicle.strip():
        raise UsageError(N_("say which vehicle: its fleet number or plate"))
    return services.shelf.fleet().vehicle(act.vehicle.strip())


def _fitted(act: DriveAct, desk: DriveDesk, services: Services) -> DriveState:
    asked = MoveDrive(act.drive, _vehicle(act, services), act.by, act.reason, act.when)
    return fit_drive(asked, desk=desk)


def _pulled(act: DriveAct, desk: DriveDesk, services: Services) -> DriveState:
    asked = MoveDrive(act.drive, _vehicle(act, services), act.by, act.reason, act.when)
    return pull_drive(asked, desk=desk)


def _handed(act: DriveAct, desk: DriveDesk, services: Services) -> DriveState:
    text = act.picture.removeprefix(PICTURE_HEAD)
    try:
        picture = base64.b64decode(text, validate=True) if text else None
    except (binascii.Error, ValueError):
        raise UsageError("the signature's picture is not base64; draw it again") from None
    if not act.to.strip():
        raise UsageError(N_("say who receives it"))
    asked = HandDrive(act.drive, act.to, act.by, act.reason, act.where, picture, act.when)
    return hand_drive(asked, desk=desk, pictures=services.tools.pictures())


def _put(act: DriveAct, desk: DriveDesk, services: Services) -> DriveState:
    asked = PutDrive(act.drive, act.place, act.by, act.reason, act.where, act.when)
    return put_drive(asked, desk=desk)


def _found(act: DriveAct, desk: DriveDesk, services: Services) -> DriveState:
    if not act.where.strip():
        raise UsageError(N_("say where it was found"))
    asked = PutDrive(act.drive, "", act.by, act.reason, act.where, act.when)
    return found_drive(asked, desk=desk)


def _wiped(act: DriveAct, desk: DriveDesk, services: Services) -> DriveState:
    if not act.method.strip() or not act.tool.strip():
        raise UsageError(N_("say how it was erased, and with which tool"))
    asked = WipeDrive(
        act.drive, act.category, act.method, act.tool, act.by, act.reason, act.verified_by, act.when
    )
    return wipe_drive(asked, desk=desk)


def _retired(act: DriveAct, desk: DriveDesk, services: Services) -> DriveState:
    if not act.how.strip():
        raise UsageError(N_("say how it leaves: scrapped, sold, returned to the maker"))
    return retire_drive(RetireDrive(act.drive, act.how, act.by, act.reason, act.when), desk=desk)


ACTS: Mapping[str, Callable[[DriveAct, DriveDesk, Services], DriveState]] = {
    "fitted": _fitted,
    "pulled": _pulled,
    "handed": _handed,
    "put": _put,
    "found": _found,
    "wiped": _wiped,
    "retired": _retired,
}
"""What can be written down of a drive, by the kind of its event."""
