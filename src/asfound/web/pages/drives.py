"""Drives: the register with what is wrong first, a new one, one with its story, label and acts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated

from anyio.to_thread import run_sync
from fastapi import APIRouter, Query, Request
from starlette.datastructures import UploadFile
from starlette.responses import Response

from asfound.calc.drive_names import serial_fault
from asfound.calc.smart_json import MOST_BYTES
from asfound.errors import AsfoundError, NotFound, UsageError
from asfound.jobs.drive_acts import JudgeDrive, judge_drive, register_drive
from asfound.jobs.drive_label import LabelDrive, drive_label_pdf, drive_label_svg
from asfound.jobs.drive_register import drive_among, present
from asfound.model.drive_register import DRIVE_KINDS, DriveState
from asfound.units import bytes_text
from asfound.web.context import FORM_FIELDS, Asked, Form, Here, files_allowed, remember
from asfound.web.drive_form import act_of, part_of, register_of
from asfound.web.driving import ACTS, DriveMoved, act_on, at_head, drive_desk
from asfound.web.problems import Problem, kind_of
from asfound.web.session import NAME_COOKIE
from asfound.web.view_drives import drive_view, drives_view

router = APIRouter(prefix="/drives")

Number = Annotated[int, Query(ge=1, le=1_000_000)]


@router.get("")
def show_all(here: Asked, q: str = "", page: Number = 1) -> Response:
    """Findings, then every drive, or those that ``q`` fits."""
    view = drives_view(here.server.looks, here.services, q[:400], page)
    return here.page("drives.html.j2", view=view, q=q[:400], size=bytes_text)


@router.get("/new")
def ask(here: Asked, serial: str = "", vehicle: str = "") -> Response:
    """The form for a new one."""
    return _form(here, {"serial": serial, "vehicle": vehicle}, None)


@router.post("/new")
def add(here: Asked, form: Form) -> Response:
    """Takes a drive into the register."""
    by = _by(here, form)
    try:
        wanted = register_of(form, by, here.services.shelf.fleet())
        made = register_drive(wanted, desk=drive_desk(here.services))
    except AsfoundError as error:
        return _form(here, form, error)
    return _back(here, made, by)


@router.get("/{name}")
def show(here: Asked, name: str) -> Response:
    """One drive."""
    return _page(here, name, {}, None)


@router.get("/{name}/label.svg")
def label_svg(here: Asked, name: str) -> Response:
    """Its label as a picture."""
    return Response(drive_label_svg(_label(here, name)), media_type="image/svg+xml")


@router.get("/{name}/label.pdf")
def label_pdf(here: Asked, name: str) -> Response:
    """Its label to print."""
    asked = _label(here, name)
    at = present(here.services.desk.clock, asked.drive)
    made = drive_label_pdf(asked, at, pdf=here.services.tools.pdf())
    headers = {"Content-Disposition": f'attachment; filename="{asked.drive.id}.pdf"'}
    return Response(made, media_type="application/pdf", headers=headers)


@router.get("/{name}/hands/{number}.jpg")
def signature(here: Asked, name: str, number: int) -> Response:
    """The picture that the receiver of hand-over ``number`` (1, 2 …) signed with."""
    state = drive_among(name, here.server.looks.drives())
    if not 1 <= number <= len(state.hands) or not state.hands[number - 1].picture:
        raise NotFound(f"hand-over {number} has no signature with a picture")
    picture = here.services.desk.blobs.get(state.hands[number - 1].picture)
    return Response(picture, media_type="image/jpeg")


@router.post("/{name}/judged")
async def judge(here: Asked, name: str, request: Request) -> Response:
    """Keeps what the drive says of itself."""
    form = await request.form(max_files=files_allowed(request), max_fields=FORM_FIELDS)
    try:
        item = form.get("report")
        data = await item.read(MOST_BYTES + 1) if isinstance(item, UploadFile) else b""
        fields = {key: value for key, value in form.items() if isinstance(value, str)}
    finally:
        await form.close()
    return await run_sync(_judged, here, name, {**fields, "act": "judged"}, data)


@router.post("/{name}/{act}")
def happened(here: Asked, name: str, act: str, form: Form) -> Response:
    """Writes down what happened to it."""
    if act not in ACTS:
        raise NotFound("nothing is at this address; go back, or begin at the first page")
    by = _by(here, form)
    try:
        state = act_on(act, act_of(name, form, by, here.zone()), here.services)
    except (AsfoundError, Problem) as error:
        return _page(here, name, {**form, "act": act}, error)
    return _back(here, state, by)


def _judged(here: Here, name: str, form: Mapping[str, str], data: bytes) -> Response:
    by, desk = _by(here, form), drive_desk(here.services)
    try:
        if not data:
            raise UsageError("choose a report first: a file that smartctl wrote")
        at_head(name, form.get("head", ""), desk)
        state = judge_drive(JudgeDrive(name, data, by), desk=desk)
    except (AsfoundError, Problem) as error:
        return _page(here, name, form, error)
    return _back(here, state, by)


def _label(here: Here, name: str) -> LabelDrive:
    state = drive_among(name, here.server.looks.drives())
    if serial_fault(state.serial):
        raise UsageError("this serial number cannot stand on a label; register the drive first")
    return LabelDrive(state, here.services.shelf.fleet().name)


def _by(here: Here, form: Mapping[str, str]) -> str:
    return form.get("by", "").strip() or here.name


def _back(here: Here, state: DriveState, by: str) -> Response:
    answer = here.go(f"/drives/{state.id}")
    remember(answer, NAME_COOKIE, by)
    return answer


def _form(here: Here, typed: Mapping[str, str], error: AsfoundError | None) -> Response:
    return here.page(
        "drive-new.html.j2",
        kind_of(error).status if error is not None else 200,
        typed=typed,
        error=error,
        part=part_of(error),
        kinds=DRIVE_KINDS,
    )


def _page(
    here: Here, name: str, typed: Mapping[str, str], error: AsfoundError | Problem | None
) -> Response:
    return here.page(
        "drive.html.j2",
        kind_of(error).status if error is not None else 200,
        view=drive_view(name, here.server.looks, here.services),
        typed=typed,
        error=error,
        since=error.since if isinstance(error, DriveMoved) else (),
        size=bytes_text,
        caution=here.services.shelf.cautions().get("footage-lost"),
    )
