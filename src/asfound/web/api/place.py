"""Where a vehicle's recorder sits, as a photograph, and which of its settings changed when."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any

from anyio.to_thread import run_sync
from fastapi import APIRouter, Query, Request
from pydantic import BaseModel
from starlette.responses import Response

from asfound.jobs.place_picture import (
    TakePlacePicture,
    drop_place_picture,
    place_jpeg,
    place_picture,
    take_place_picture,
)
from asfound.model.fleet import Vehicle
from asfound.model.place_picture import PlacePicture
from asfound.web.context import Asked, Here
from asfound.web.slugs import slug, unslug
from asfound.web.view_history import history_view

router = APIRouter(prefix="/vehicles/{key}", tags=["vehicles"])

By = Annotated[str, Query(max_length=80)]
JPEG = "image/jpeg"
_BINARY = {"schema": {"type": "string", "format": "binary"}}
_PHOTO_BODY = {"requestBody": {"required": True, "content": {"application/octet-stream": _BINARY}}}
_JPEG_ANSWER: dict[int | str, dict[str, Any]] = {
    200: {"description": "The photograph", "content": {JPEG: _BINARY}}
}


class PlaceOut(BaseModel):
    """Where the recorder sits, in the fleet file's words; ``picture`` is the photograph's SHA-256
    and ``address`` where a JPEG of it lies, None while there is none."""

    place: str
    picture: str | None
    address: str | None
    by: str | None
    at: datetime | None

    @classmethod
    def of(cls, vehicle: Vehicle, known: PlacePicture | None) -> PlaceOut:
        """From the model's photograph."""
        if known is None or not known.picture:
            place = vehicle.recorder.place
            return cls(place=place, picture=None, address=None, by=None, at=None)
        return cls(
            place=vehicle.recorder.place,
            picture=known.picture,
            address=f"/api/v1/vehicles/{slug(vehicle.number)}/place/{known.picture}.jpg",
            by=known.by,
            at=known.at,
        )


class ChangeOut(BaseModel):
    """A setting that changed; ``moment`` is visit, between (the visit before and this one) or
    either (it was not read as found)."""

    field: str
    page: str
    label: str
    before: str
    after: str
    moment: str


class VisitChangesOut(BaseModel):
    """A closed visit: how many settings are ``known`` as left and how many not. ``read`` false:
    the settings as left were not read. ``first``: no earlier visit knows them."""

    visit: str
    closed_at: datetime | None
    closed_by: str
    firmware: str
    read: bool
    known: int
    unknown: int
    first: bool
    changes: list[ChangeOut]


@router.get("/place")
def place(here: Asked, key: str) -> PlaceOut:
    """Where the recorder sits."""
    vehicle = _vehicle(here, key)
    return PlaceOut.of(vehicle, place_picture(vehicle, store=here.services.desk.store))


@router.put("/place", openapi_extra=_PHOTO_BODY)
async def put(here: Asked, request: Request, key: str, by: By) -> PlaceOut:
    """Keep a photograph of it, the bytes of a JPEG, HEIC, PNG, WebP, AVIF, TIFF or BMP file."""
    data = await request.body()
    return await run_sync(_kept, here, key, data, by)


@router.delete("/place")
def drop(here: Asked, key: str, by: By) -> PlaceOut:
    """Take the photograph away."""
    vehicle = _vehicle(here, key)
    return PlaceOut.of(vehicle, drop_place_picture(vehicle, by, desk=here.services.desk))


@router.get("/place/{picture}.jpg", response_class=Response, responses=_JPEG_ANSWER)
def picture(here: Asked, key: str, picture: str, small: bool = False) -> Response:
    """The photograph that counts: upright, shrunk, without what the phone wrote into it."""
    services = here.services
    made = place_jpeg(
        _vehicle(here, key),
        picture,
        desk=services.desk,
        pictures=services.tools.pictures(),
        small=small,
    )
    return Response(made, media_type=JPEG)


@router.get("/settings")
def history(
    here: Asked, key: str, page: Annotated[int, Query(ge=1, le=1_000_000)] = 1
) -> list[VisitChangesOut]:
    """Which settings changed when, by closed visits, newest first, twenty a page."""
    view = history_view(unslug(key), page, here.services)
    return [
        VisitChangesOut(
            visit=item.visit.visit,
            closed_at=item.visit.at,
            closed_by=item.visit.by,
            firmware=item.visit.firmware,
            read=item.visit.read,
            known=item.visit.known,
            unknown=item.visit.unknown,
            first=item.visit.first,
            changes=[
                ChangeOut(
                    field=change.field,
                    page=row.page,
                    label=row.label,
                    before=row.before,
                    after=row.after,
                    moment=row.moment.value,
                )
                for change, row in zip(item.visit.changes, item.rows, strict=True)
            ],
        )
        for item in view.visits
    ]


def _vehicle(here: Here, key: str) -> Vehicle:
    return here.services.shelf.fleet().vehicle(unslug(key))


def _kept(here: Here, key: str, data: bytes, by: str) -> PlaceOut:
    services, vehicle = here.services, _vehicle(here, key)
    request = TakePlacePicture(vehicle, data, "photograph", by)
    pictures = services.tools.pictures()
    return PlaceOut.of(vehicle, take_place_picture(request, desk=services.desk, pictures=pictures))
