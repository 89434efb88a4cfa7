"""Drives of the register: where each is, what is wrong, what happened to them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Annotated, Any, Literal

from fastapi import APIRouter
from pydantic import AwareDatetime, BaseModel, Field
from starlette.responses import Response

from asfound.jobs.drive_acts import RegisterDrive, register_drive
from asfound.jobs.drive_label import LabelDrive, drive_label_svg
from asfound.jobs.drive_locks import Lock, locked_by, locks
from asfound.jobs.drive_register import drive_among
from asfound.jobs.footage_requests import list_requests
from asfound.model.drive_register import DriveFound, DriveState
from asfound.web.context import Asked, Here
from asfound.web.driving import DriveAct, act_on, drive_desk, story_head
from asfound.web.view_drives import found_rows

router = APIRouter(prefix="/drives", tags=["drives"])

Name = Annotated[str, Field(max_length=80)]
Text = Annotated[str, Field(max_length=2000)]
Picture = Annotated[str, Field(max_length=250_000, description="PNG or JPEG as base64.")]
Act = Literal["fitted", "pulled", "handed", "put", "found", "wiped", "retired"]


class DriveIn(BaseModel):
    """A drive to register; without ``vehicle`` whoever registers it has it. ``new``: it has never
    recorded."""

    serial: Name
    kind: Literal["hdd", "ssd", "card", "other"]
    capacity_bytes: Annotated[int, Field(gt=0)]
    by: Name
    model: Name = ""
    vehicle: Name = ""
    new: bool = False


class EventIn(BaseModel):
    """What happened, against the ``head`` seen last; of the others those that docs/drives.md names
    for the act. ``when``: if not now."""

    head: Annotated[str, Field(max_length=64)]
    by: Name
    reason: Text
    vehicle: Name = ""
    to: Name = ""
    where: Text = ""
    place: Name = ""
    picture: Picture = ""
    category: Name = ""
    method: Text = ""
    tool: Text = ""
    verified_by: Name = ""
    how: Text = ""
    when: AwareDatetime | None = None


class LockOut(BaseModel):
    """Why it must not be wiped or retired: ``by`` fitted, hold or request."""

    by: str
    id: str
    why: str


class DriveEventOut(BaseModel):
    """One event of a drive's story; ``log`` or ``visit`` says it."""

    at: datetime
    when: datetime
    by: str
    kind: str
    log: str | None
    visit: str | None
    data: dict[str, Any]


class DriveOut(BaseModel):
    """A drive (keys of ``asfound-drives/1``); ``head`` is what an act on it must name."""

    serial: str
    id: str
    registered: bool
    kind: str | None
    capacity_bytes: int | None
    model: str
    place: str
    vehicle: str | None
    holder: str | None
    where: str
    since: datetime | None
    health: str | None
    erased: str | None
    retired: str | None
    locks: list[LockOut]
    events: list[DriveEventOut]
    head: str

    @classmethod
    def of(cls, state: DriveState, shut: Sequence[Lock]) -> DriveOut:
        """From the model's, and what locks it."""
        return cls(
            serial=state.spelled,
            id=state.id,
            registered=state.registered,
            kind=state.kind or None,
            capacity_bytes=state.capacity_bytes or None,
            model=state.model,
            place=state.place.value,
            vehicle=state.vehicle or None,
            holder=state.holder or None,
            where=state.where,
            since=state.since,
            health=state.judged.verdict if state.judged else None,
            erased=state.proof.category.value if state.proof else None,
            retired=state.retired_how or None,
            locks=[LockOut(by=one.by, id=one.id, why=one.why) for one in shut],
            events=[
                DriveEventOut(
                    at=one.at,
                    when=one.when,
                    by=one.by,
                    kind=one.kind,
                    log=None if one.visit else one.writer,
                    visit=one.visit or None,
                    data=dict(one.data),
                )
                for one in state.events
            ],
            head=story_head(state),
        )


class DriveFoundOut(BaseModel):
    """What does not go together (docs/drives.md)."""

    kind: str
    serial: str
    vehicle: str | None
    since: datetime | None
    note: str

    @classmethod
    def of(cls, found: DriveFound) -> DriveFoundOut:
        """From the model's."""
        return cls(
            kind=found.kind,
            serial=found.serial,
            vehicle=found.vehicle or None,
            since=found.at,
            note=found.note,
        )


@router.get("")
def drives(here: Asked) -> list[DriveOut]:
    """Every drive that the register or a visit names."""
    services = here.services
    holds, asked = services.desk.store.holds(), list_requests(services.requests)
    states = here.server.looks.drives()
    return [DriveOut.of(one, locked_by(one, holds, asked)) for one in states]


@router.post("", status_code=201)
def register(here: Asked, wanted: DriveIn) -> DriveOut:
    """Take one into the register, or mend what stands there."""
    services = here.services
    vehicle = services.shelf.fleet().vehicle(wanted.vehicle) if wanted.vehicle else None
    asked = RegisterDrive(
        wanted.serial, wanted.kind, wanted.capacity_bytes, wanted.by, wanted.model, vehicle,
        wanted.new,
    )  # fmt: skip
    return _out(register_drive(asked, desk=drive_desk(services)), here)


@router.get("/findings")
def findings(here: Asked) -> list[DriveFoundOut]:
    """What does not go together, drive by drive."""
    states = here.server.looks.drives()
    return [DriveFoundOut.of(row.found) for row in found_rows(here.services, states)]


@router.get("/{drive}")
def one(here: Asked, drive: str) -> DriveOut:
    """One drive, by its id."""
    return _out(drive_among(drive, here.server.looks.drives()), here)


@router.get("/{drive}/label.svg", response_class=Response)
def label(here: Asked, drive: str) -> Response:
    """Its label."""
    state = drive_among(drive, here.server.looks.drives())
    asked = LabelDrive(state, here.services.shelf.fleet().name)
    return Response(drive_label_svg(asked), media_type="image/svg+xml")


@router.post("/{drive}/{act}")
def happened(here: Asked, drive: str, act: Act, wanted: EventIn) -> DriveOut:
    """Write down what happened to it. Wiping and retiring are refused while it is locked."""
    asked = DriveAct(drive=drive, **wanted.model_dump())
    return _out(act_on(act, asked, here.services), here)


def _out(state: DriveState, here: Here) -> DriveOut:
    services = here.services
    shut = locks(state, store=services.desk.store, requests=services.requests)
    return DriveOut.of(state, shut)
