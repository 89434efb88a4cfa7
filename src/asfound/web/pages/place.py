"""Where a vehicle's recorder sits, as a photograph: taken with the phone, replaced, taken away."""

from __future__ import annotations

from typing import Annotated

from anyio.to_thread import run_sync
from fastapi import APIRouter, Query, Request
from starlette.datastructures import UploadFile
from starlette.responses import Response

from asfound.errors import AsfoundError, UsageError
from asfound.jobs.place_picture import (
    TakePlacePicture,
    drop_place_picture,
    place_jpeg,
    take_place_picture,
)
from asfound.web.context import FORM_FIELDS, Asked, Form, Here, files_allowed, remember
from asfound.web.pages.vehicle import vehicle_page
from asfound.web.session import NAME_COOKIE
from asfound.web.slugs import slug, unslug

router = APIRouter(prefix="/vehicles/{part}/place")

JPEG = "image/jpeg"
KEPT = {"Cache-Control": "private, max-age=86400"}
"""A photograph's address holds its hash: what lies there never changes."""


@router.post("")
async def send(here: Asked, request: Request, part: str) -> Response:
    """Takes the photograph, in front of an earlier one."""
    form = await request.form(max_files=files_allowed(request), max_fields=FORM_FIELDS)
    try:
        file = form.get("photo")
        data = await file.read() if isinstance(file, UploadFile) and file.filename else b""
        name = (file.filename or "") if isinstance(file, UploadFile) else ""
        by = str(form.get("by", "")).strip() or here.name
    finally:
        await form.close()
    return await run_sync(_taken, here, unslug(part), data, name, by)


@router.post("/drop")
def drop(here: Asked, part: str, form: Form) -> Response:
    """Takes the photograph away."""
    number, by = unslug(part), form.get("by", "").strip() or here.name
    vehicle = here.services.shelf.fleet().vehicle(number)
    try:
        drop_place_picture(vehicle, by, desk=here.services.desk)
    except AsfoundError as error:
        return vehicle_page(here, number, error)
    return _back(here, number, by)


@router.get("/{picture}.jpg")
def picture(
    here: Asked, part: str, picture: str, small: Annotated[bool, Query()] = False
) -> Response:
    """The photograph that counts, shrunk."""
    services = here.services
    vehicle = services.shelf.fleet().vehicle(unslug(part))
    tools = services.tools.pictures()
    data = place_jpeg(vehicle, picture, desk=services.desk, pictures=tools, small=small)
    return Response(data, media_type=JPEG, headers=KEPT)


def _taken(here: Here, number: str, data: bytes, name: str, by: str) -> Response:
    services = here.services
    vehicle = services.shelf.fleet().vehicle(number)
    try:
        if not data:
            raise UsageError("no photograph was chosen; choose one and send again")
        request = TakePlacePicture(vehicle, data, name, by)
        take_place_picture(request, desk=services.desk, pictures=services.tools.pictures())
    except AsfoundError as error:
        return vehicle_page(here, number, error)
    return _back(here, number, by)


def _back(here: Here, number: str, by: str) -> Response:
    answer = here.go(f"/vehicles/{slug(number)}")
    remember(answer, NAME_COOKIE, by)
    return answer
