"""Requests for footage: where it is and until which hour; answered, closed, held."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Annotated, Literal

from fastapi import APIRouter, Query
from pydantic import AwareDatetime, BaseModel, Field

from asfound.jobs.footage_requests import (
    AddRequest,
    EndRequest,
    add_request,
    answer_request,
    close_request,
    list_requests,
    one_request,
)
from asfound.jobs.request_look import WEEK_D
from asfound.jobs.request_where import Located, in_order
from asfound.model.footage_request import FootageRequest, RequestState
from asfound.web.api.shapes import HoldOut
from asfound.web.context import Asked, Here
from asfound.web.requesting import LogAt, hold_for, log_head

router = APIRouter(prefix="/requests", tags=["requests"])

Name = Annotated[str, Field(max_length=80)]
Text = Annotated[str, Field(max_length=2000)]
Week = Annotated[float, Query(ge=0.25, le=WEEK_D)]
State = Literal["open", "answered", "closed", "all"]


class RequestIn(BaseModel):
    """Footage of ``vehicle`` (number or plate) from ``start`` to ``end``, true time with its offset
    from UTC; no ``channels``: all. ``clock_ahead_s``: how far the recorder's clock was ahead.
    ``hold``: lock drive steps of its visits at once."""

    vehicle: Annotated[str, Field(max_length=60)]
    start: AwareDatetime
    end: AwareDatetime
    channels: Annotated[list[int], Field(max_length=64)] = []
    why: Text
    authority: Text
    by: Name
    clock_ahead_s: float = 0.0
    hold: bool = False


class EndIn(BaseModel):
    """What came of it, against the ``head`` seen last; ``copies`` that were handed over."""

    head: Annotated[str, Field(max_length=64)]
    reason: Text
    by: Name
    copies: Annotated[list[Annotated[str, Field(max_length=400)]], Field(max_length=200)] = []


class HoldIn(BaseModel):
    """Who places it."""

    by: Name


class RequestOut(BaseModel):
    """A request. ``likely_there`` 0 to 1, null: cannot be told; ``overwritten_from`` and
    ``overwritten_until``: when its first and last second go, earliest, likely, latest.
    ``head`` is what a write to it must name."""

    id: str
    vehicle: str
    start: datetime
    end: datetime
    channels: list[int]
    why: str
    authority: str
    by: str
    at: datetime
    clock_ahead_s: float
    hold: str | None
    state: str
    note: str
    done_by: str | None
    done_at: datetime | None
    copies: list[str]
    drive: str | None
    drive_fitted: bool
    likely_there: float | None
    overwritten_from: list[datetime] | None
    overwritten_until: list[datetime] | None
    recorder_from: datetime
    recorder_until: datetime
    notes: list[str]
    head: str

    @classmethod
    def of(cls, found: Located, head: str) -> RequestOut:
        """From the model's, as it was looked for."""
        asked = found.request
        return cls(
            id=asked.id,
            vehicle=asked.vehicle,
            start=asked.start,
            end=asked.end,
            channels=list(asked.channels),
            why=asked.why,
            authority=asked.authority,
            by=asked.by,
            at=asked.at,
            clock_ahead_s=asked.clock_ahead_s,
            hold=asked.hold or None,
            state=asked.state.value,
            note=asked.note,
            done_by=asked.done_by or None,
            done_at=asked.done_at,
            copies=list(asked.copies),
            drive=found.drive or None,
            drive_fitted=found.fitted,
            likely_there=found.likely_there,
            overwritten_from=list(found.begins) if found.begins else None,
            overwritten_until=list(found.ends) if found.ends else None,
            recorder_from=found.recorder[0],
            recorder_until=found.recorder[1],
            notes=list(found.notes),
            head=head,
        )


@router.get("")
def requests(here: Asked, state: State = "open", week: Week = WEEK_D) -> list[RequestOut]:
    """Requests, by the hour at which their footage may be gone: what to do first on top."""
    found = list_requests(here.services.requests)
    wanted = [one for one in found if state == "all" or one.state == RequestState(state)]
    return [_told(here, one) for one in in_order(here.server.looks.locate(wanted, week))]


@router.post("", status_code=201)
def add(here: Asked, wanted: RequestIn) -> RequestOut:
    """Take a request down; its hold, if any, is durable before it."""
    services = here.services
    vehicle = services.shelf.fleet().vehicle(wanted.vehicle)
    desk = services.desk
    asked = AddRequest(
        vehicle, wanted.start, wanted.end, tuple(wanted.channels), wanted.why, wanted.authority,
        wanted.by, wanted.clock_ahead_s, wanted.hold, desk.writer,
    )  # fmt: skip
    made = add_request(asked, log=services.requests, store=desk.store, clock=desk.clock)
    return _found(here, made.id)


@router.get("/{request}")
def one(here: Asked, request: str, week: Week = WEEK_D) -> RequestOut:
    """One request; ``week``: days a week on which its vehicle drives."""
    return _found(here, request, week)


@router.post("/{request}/answer")
def answer(here: Asked, request: str, wanted: EndIn) -> RequestOut:
    """Say what came of it."""
    return _ended(here, request, wanted, answer_request)


@router.post("/{request}/close")
def close(here: Asked, request: str, wanted: EndIn) -> RequestOut:
    """Nothing more is to be done; its hold stays."""
    return _ended(here, request, wanted, close_request)


@router.post("/{request}/hold", status_code=201)
def hold(here: Asked, request: str, wanted: HoldIn) -> HoldOut:
    """Place a hold on what is asked for."""
    asked = one_request(here.services.requests, request)
    return HoldOut.of(hold_for(asked, wanted.by, here.services))


def _ended(
    here: Here, request: str, wanted: EndIn, act: Callable[..., FootageRequest]
) -> RequestOut:
    services = here.services
    log = LogAt(services.requests, request, wanted.head)
    asked = EndRequest(request, wanted.by, wanted.reason, tuple(wanted.copies))
    return _found(here, act(asked, log=log, clock=services.desk.clock).id)


def _found(here: Here, request: str, week: float = WEEK_D) -> RequestOut:
    asked = one_request(here.services.requests, request)
    (found,) = here.server.looks.locate([asked], week)
    return _told(here, found)


def _told(here: Here, found: Located) -> RequestOut:
    return RequestOut.of(found, log_head(here.services.requests, found.request.id))
