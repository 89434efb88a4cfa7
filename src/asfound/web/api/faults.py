"""What faults came from: recorded in a visit."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter
from pydantic import BaseModel, Field

from asfound.jobs.visit_journal import load_visit
from asfound.model.fault_found import FaultFound
from asfound.model.visit import VisitState
from asfound.web.api.visits import Head, Name, Text
from asfound.web.context import Asked
from asfound.web.visit_acts import FaultAct, keep_fault

router = APIRouter(prefix="/visits/{visit}/faults", tags=["faults"])

Ids = Annotated[list[Name], Field(max_length=200)]


class CheckOut(BaseModel):
    """A symptom or check, and what it showed."""

    check: str
    outcome: str


class FaultOut(BaseModel):
    """A fault whose cause was found; ids are those of the fault guide ``guide``."""

    cause: str
    title: str
    guide: str
    symptoms: list[str]
    checks: list[CheckOut]
    tried: list[str]
    note: str
    by: str
    at: datetime

    @classmethod
    def of(cls, found: FaultFound) -> FaultOut:
        """From the model's."""
        return cls(
            cause=found.cause,
            title=found.title,
            guide=found.guide,
            symptoms=list(found.symptoms),
            checks=[CheckOut(check=name, outcome=told) for name, told in found.checks],
            tried=list(found.tried),
            note=found.note,
            by=found.by,
            at=found.at,
        )


class FaultsOut(BaseModel):
    """The faults of a visit, and the journal's head."""

    visit: str
    head: str
    faults: list[FaultOut]

    @classmethod
    def of(cls, state: VisitState) -> FaultsOut:
        """From the visit."""
        return cls(
            visit=state.id, head=state.head, faults=[FaultOut.of(one) for one in state.faults]
        )


class FaultIn(BaseModel):
    """What a fault came from. ``symptoms`` are those there, ``without`` those not; ``checked``:
    "check=outcome" in their order; ``tried``: causes repaired in vain; ``instead``: in place of
    the visit's last record."""

    head: Head
    by: Name
    cause: Name
    symptoms: Ids = []
    without: Ids = []
    checked: Ids = []
    tried: Ids = []
    note: Text = ""
    instead: bool = False


@router.get("")
def faults(here: Asked, visit: str) -> FaultsOut:
    """What the faults of the visit came from."""
    desk = here.services.desk
    return FaultsOut.of(load_visit(visit, store=desk.store, blobs=desk.blobs))


@router.post("", status_code=201)
def keep(here: Asked, visit: str, wanted: FaultIn) -> FaultsOut:
    """Record a cause; it is learned from once the visit is closed."""
    known = [("symptom", one) for one in wanted.symptoms]
    known += [("without", one) for one in wanted.without]
    known += [("checked", one) for one in wanted.checked]
    known += [("tried", one) for one in wanted.tried]
    act = FaultAct(
        visit, wanted.head, wanted.by, wanted.cause, urlencode(known), wanted.note, wanted.instead
    )
    state = keep_fault(act, here)
    here.server.hub.wake(visit)
    return FaultsOut.of(state)
