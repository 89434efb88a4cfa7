"""Firmware sticks: where they are plugged in, what was found, check and prepare."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any

from fastapi import APIRouter
from pydantic import BaseModel, Field

from asfound.jobs.stick_data import checked_data, prepared_data
from asfound.web.api.tasks import TaskOut
from asfound.web.context import Asked
from asfound.web.events import task_data
from asfound.web.sticking import StickWork, start_check, start_prepare, stick_place, subject_of

router = APIRouter(prefix="/sticks", tags=["firmware"])


class StickOut(BaseModel):
    """A place; ``there``: a stick is mounted now. ``subject`` is what its tasks are about."""

    key: str
    name: str
    there: bool
    subject: str


class FoundOut(BaseModel):
    """What was found since the server was started: ``checked`` and ``prepared`` as docs/stick.md
    describes asfound-stick/1; null: not done."""

    at: datetime | None
    checked: dict[str, Any] | None
    prepared: dict[str, Any] | None


class CheckIn(BaseModel):
    """``sha256``: what the image must have besides the slip; left out: the slip alone counts."""

    sha256: Annotated[str, Field(max_length=64)] = ""


class PrepareIn(BaseModel):
    """``image``: file name of an image of the catalogue."""

    image: Annotated[str, Field(max_length=255)]
    by: Annotated[str, Field(max_length=80)]


@router.get("")
def sticks(here: Asked) -> list[StickOut]:
    """Places of sticks that were named when the server was started."""
    return [
        StickOut(key=x.key, name=x.name, there=x.there, subject=subject_of(x.key))
        for x in here.services.sticks.places()
    ]


@router.get("/{key}")
def found(here: Asked, key: str) -> FoundOut:
    """What was last found of a stick."""
    outcome = here.server.sticks.get(stick_place(key, here.services).key)
    checked = outcome.checked if outcome is not None else None
    prepared = outcome.prepared if outcome is not None else None
    return FoundOut(
        at=outcome.at if outcome is not None else None,
        checked=checked_data(checked) if checked is not None else None,
        prepared=prepared_data(prepared) if prepared is not None else None,
    )


@router.post("/{key}/check", status_code=202)
def check(here: Asked, key: str, wanted: CheckIn) -> TaskOut:
    """Begin to check a stick; it writes nothing. On the server's own machine alone."""
    work = StickWork(here, here.server.tasks, here.server.sticks)
    return TaskOut(**task_data(start_check(key, wanted.sha256, work)))


@router.post("/{key}/prepare", status_code=202)
def prepare(here: Asked, key: str, wanted: PrepareIn) -> TaskOut:
    """Begin to put one image of the catalogue on a stick; nothing but an older slip is deleted. On
    the server's own machine alone."""
    work = StickWork(here, here.server.tasks, here.server.sticks)
    return TaskOut(**task_data(start_prepare(key, wanted.image, wanted.by, work)))
