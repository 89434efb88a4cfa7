"""Bundles: closed visits packed, those of others taken in; both in the background."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from fastapi import APIRouter
from pydantic import BaseModel, Field

from asfound.jobs.bundle_export import ExportBundle
from asfound.model.journal import Entry
from asfound.web.api.tasks import TaskOut
from asfound.web.bundling import BundleDesk, start_export, start_import
from asfound.web.context import Asked, Here
from asfound.web.events import task_data
from asfound.web.view_bundles import aside_rows

router = APIRouter(prefix="/bundles", tags=["bundles"])

Key = Annotated[str, Field(max_length=64)]


class PackIn(BaseModel):
    """A closed visit, or ``notes`` and none: all holds, requests, logs of deletions and of drives
    of this home; the key of a place for bags (``GET /bags``), and the new folder's name."""

    visit: Annotated[str, Field(max_length=80)] = ""
    notes: bool = False
    place: Key
    name: Annotated[str, Field(max_length=100)]


class TakeIn(BaseModel):
    """The key of the folder that the bundle lies in (``GET /bags``)."""

    folder: Key


class BundleOut(BaseModel):
    """What was begun; ``state`` of its task, and once it is done the key it is signed with, visits
    that it packed or that are new here, and logs of which a branch was set aside."""

    task: str
    name: str
    state: str
    signed_by: str | None
    visits: list[str]
    set_aside: list[str]


class AsideEntryOut(BaseModel):
    """An entry that is kept and does not count."""

    seq: int
    at: datetime
    by: str
    kind: str
    hash: str

    @classmethod
    def of(cls, entry: Entry) -> AsideEntryOut:
        """The entry, as resources say it."""
        return cls(seq=entry.seq, at=entry.at, by=entry.by, kind=entry.kind, hash=entry.hash)


class AsideOut(BaseModel):
    """A log (``book``: visit, request or drive) and its branch that does not count."""

    book: str
    log: str
    entries: list[AsideEntryOut]


@router.get("")
def bundles(here: Asked) -> list[BundleOut]:
    """What was begun since the server was started, the newest first."""
    made = []
    for begun, task, ended in here.server.bundles.all(here.server.tasks):
        packed, taken = (ended.packed, ended.taken) if ended else (None, None)
        signed = packed.public if packed else taken.signed_by if taken else None
        visits = packed.visits if packed else taken.merged.visits if taken else ()
        forks = [one.log for one in taken.merged.forks] if taken else []
        made.append(
            BundleOut(
                task=task.id, name=begun.name, state=task.state, signed_by=signed,
                visits=list(visits), set_aside=forks,
            )
        )  # fmt: skip
    return made


@router.get("/aside")
def aside(here: Asked) -> list[AsideOut]:
    """What is set aside: of logs that were continued in two places, the branch that does not
    count."""
    return [
        AsideOut(
            book=str(row.book), log=row.log, entries=[AsideEntryOut.of(one) for one in row.entries]
        )
        for row in aside_rows(here.services.tools.bundles().merging)
    ]


@router.post("/export", status_code=202)
def export(here: Asked, wanted: PackIn) -> TaskOut:
    """Begin to pack a closed visit, or notes. On the server's own machine alone."""
    request = ExportBundle((wanted.visit,) if wanted.visit else (), notes=wanted.notes)
    task = start_export(request, wanted.place, wanted.name, here.visitor, _desk(here))
    return TaskOut(**task_data(task))


@router.post("/import", status_code=202)
def take(here: Asked, wanted: TakeIn) -> TaskOut:
    """Begin to take one in. On the server's own machine alone."""
    return TaskOut(**task_data(start_import(wanted.folder, here.visitor, _desk(here))))


def _desk(here: Here) -> BundleDesk:
    server = here.server
    return BundleDesk(here.services, server.tasks, server.bundles, server.hub)
