"""What must be deleted, and the log of what was."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from fastapi import APIRouter
from pydantic import BaseModel, Field

from asfound.jobs.deletions import LogDeleted, deletions_done, deletions_due, log_deleted
from asfound.jobs.footage_requests import deletion_log
from asfound.model.footage_request import Deleted
from asfound.web.context import Asked
from asfound.web.requesting import LogAt, log_head

router = APIRouter(prefix="/deletions", tags=["requests"])


class DueOut(BaseModel):
    """What must not be kept beyond ``due``; ``held`` are the holds that forbid its deletion."""

    item: str
    vehicle: str
    what: str
    due: datetime
    overdue: bool
    held: list[str]


class DeletedOut(BaseModel):
    """That something was deleted: everything in it up to ``at``."""

    item: str
    by: str
    note: str
    at: datetime

    @classmethod
    def of(cls, made: Deleted) -> DeletedOut:
        """From the model's."""
        return cls(item=made.item, by=made.by, note=made.note, at=made.at)


class DeletionsOut(BaseModel):
    """``due`` soonest first, ``done`` oldest first; ``head`` is what a write must name."""

    due: list[DueOut]
    done: list[DeletedOut]
    head: str


class DeletedIn(BaseModel):
    """That ``item`` was deleted, how, and by whom, against the ``head`` seen last."""

    head: Annotated[str, Field(max_length=64)]
    item: Annotated[str, Field(max_length=200)]
    note: Annotated[str, Field(max_length=2000)]
    by: Annotated[str, Field(max_length=80)]


@router.get("")
def deletions(here: Asked) -> DeletionsOut:
    """Everything that is to be deleted, and everything that was."""
    services = here.services
    now, log = here.server.looks.now(), services.requests
    due = deletions_due(services.shelf.fleet(), log=log, store=services.desk.store)
    return DeletionsOut(
        due=[
            DueOut(
                item=one.item,
                vehicle=one.vehicle,
                what=one.what,
                due=one.due,
                overdue=one.due <= now,
                held=list(one.held),
            )
            for one in due
        ],
        done=[DeletedOut.of(one) for one in deletions_done(log)],
        head=log_head(log, deletion_log(services.desk.writer)),
    )


@router.post("", status_code=201)
def deleted(here: Asked, wanted: DeletedIn) -> DeletedOut:
    """Write down that something was deleted; refused while a hold keeps it."""
    services = here.services
    log = LogAt(services.requests, deletion_log(services.desk.writer), wanted.head)
    made = log_deleted(
        LogDeleted(wanted.item, wanted.by, wanted.note, services.desk.writer),
        services.shelf.fleet(),
        log=log,
        store=services.desk.store,
        clock=services.desk.clock,
    )
    return DeletedOut.of(made)
