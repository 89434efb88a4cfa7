"""Bags in folders named when the server was started: verified in the background."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from fastapi import APIRouter
from pydantic import BaseModel, Field

from asfound.errors import NotFound
from asfound.web.api.tasks import TaskOut
from asfound.web.context import Asked
from asfound.web.events import task_data
from asfound.web.verifying import Behind, Outcome, VerifyAct, bag_name, start_verifying

router = APIRouter(prefix="/bags", tags=["bags"])


class BagOut(BaseModel):
    """A folder that may be a bag, by its key; ``place``: what the folder above it is called."""

    key: str
    name: str
    place: str


class BagFaultOut(BaseModel):
    """One thing that is wrong (docs/evidence.md); ``path`` "": the bag as a whole."""

    kind: str
    path: str
    note: str


class VerifiedOut(BaseModel):
    """What a bag was found to be at ``at`` (keys of ``asfound-verify/1``)."""

    bag: str
    at: datetime
    version: str
    whole: bool
    files: int
    bytes: int
    signed_by: str
    known_key: bool
    faults: list[BagFaultOut]

    @classmethod
    def of(cls, made: Outcome) -> VerifiedOut:
        """From what was kept."""
        result = made.result
        return cls(
            bag=made.name,
            at=made.at,
            version=result.version,
            whole=not result.faults,
            files=result.files,
            bytes=result.size,
            signed_by=result.signed_by,
            known_key=result.known_key,
            faults=[
                BagFaultOut(kind=one.kind.value, path=one.path, note=one.note)
                for one in result.faults
            ],
        )


class VerifyIn(BaseModel):
    """``public``: the public key it must be signed with, in hexadecimal figures, or left out."""

    public: Annotated[str, Field(max_length=200)] = ""


@router.get("")
def bags(here: Asked) -> list[BagOut]:
    """Folders that may be verified."""
    return [
        BagOut(key=folder.key, name=folder.name or place.name, place=place.name)
        for place in here.services.bags.places()
        for folder in place.folders
    ]


@router.post("/{key}/verify", status_code=202)
def verify(here: Asked, key: str, wanted: VerifyIn) -> TaskOut:
    """Begin to verify a bag: the task. On the server's own machine alone."""
    server = here.server
    behind = Behind(here.services, server.tasks, server.verified)
    return TaskOut(
        **task_data(start_verifying(VerifyAct(key, wanted.public), here.visitor, behind))
    )


@router.get("/{key}")
def one(here: Asked, key: str) -> VerifiedOut:
    """What the bag was found to be when it was verified last."""
    made = here.server.verified.get(key)
    if made is None:
        name = bag_name(key, here.services)
        raise NotFound(f"{name}: was not verified since the server was started; begin it")
    return VerifiedOut.of(made)
