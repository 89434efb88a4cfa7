"""Holds: orders to keep footage, placed and released with name and reason."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Query
from pydantic import AwareDatetime, BaseModel, Field

from asfound.errors import NotFound
from asfound.jobs.holds import PlaceHold, ReleaseHold, list_holds, place_hold, release_hold
from asfound.model.hold import Hold
from asfound.web.api.shapes import HoldOut
from asfound.web.context import Asked, Here
from asfound.web.slugs import unslug

router = APIRouter(tags=["holds"])

State = Literal["active", "released", "all"]
Name = Annotated[str, Field(max_length=80)]
Text = Annotated[str, Field(max_length=2000)]


class HoldIn(BaseModel):
    """Footage to keep, from ``start`` to ``end``, both with their offset from UTC."""

    start: AwareDatetime
    end: AwareDatetime
    reason: Text
    by: Name


class ReleaseIn(BaseModel):
    """Why footage need not be kept any more."""

    reason: Text
    by: Name


@router.get("/holds")
def all_holds(here: Asked, state: Annotated[State, Query()] = "active") -> list[HoldOut]:
    """Holds on every vehicle, oldest first."""
    return _told(here, None, state)


@router.get("/vehicles/{key}/holds")
def holds(here: Asked, key: str, state: Annotated[State, Query()] = "all") -> list[HoldOut]:
    """Holds on one vehicle, oldest first."""
    return _told(here, here.services.shelf.fleet().vehicle(unslug(key)).number, state)


@router.post("/vehicles/{key}/holds", status_code=201)
def place(here: Asked, key: str, wanted: HoldIn) -> HoldOut:
    """Place a hold: steps that could destroy the vehicle's footage are locked from now on."""
    vehicle = here.services.shelf.fleet().vehicle(unslug(key))
    desk = here.services.desk
    request = PlaceHold(vehicle, wanted.start, wanted.end, wanted.reason, wanted.by, desk.writer)
    made = place_hold(request, store=desk.store, clock=desk.clock)
    # As it is kept, times in UTC, so that it reads the same from now on.
    return HoldOut.of(_found(here, key, made.id))


@router.get("/vehicles/{key}/holds/{hold}")
def one(here: Asked, key: str, hold: str) -> HoldOut:
    """One hold."""
    return HoldOut.of(_found(here, key, hold))


@router.post("/vehicles/{key}/holds/{hold}/release")
def release(here: Asked, key: str, hold: str, wanted: ReleaseIn) -> HoldOut:
    """Release a hold; what is released stays so, another one can be placed."""
    desk = here.services.desk
    request = ReleaseHold(_found(here, key, hold).id, wanted.by, wanted.reason)
    return HoldOut.of(release_hold(request, store=desk.store, clock=desk.clock))


def _told(here: Here, vehicle: str | None, state: State) -> list[HoldOut]:
    found = list_holds(vehicle, store=here.services.desk.store)
    wanted = {"active": (True,), "released": (False,), "all": (True, False)}[state]
    return [HoldOut.of(hold) for hold in found if hold.active in wanted]


def _found(here: Here, key: str, hold: str) -> Hold:
    vehicle = here.services.shelf.fleet().vehicle(unslug(key))
    for item in list_holds(vehicle.number, store=here.services.desk.store):
        if item.id == hold:
            return item
    raise NotFound(f"vehicle {vehicle.number} has no hold {hold!r}; load its holds")
