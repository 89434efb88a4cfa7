"""Holds of a vehicle: orders to keep footage, placed and released with name and reason."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import APIRouter
from starlette.responses import Response

from asfound.errors import AsfoundError
from asfound.jobs.footage_requests import list_requests
from asfound.jobs.holds import PlaceHold, ReleaseHold, list_holds, place_hold, release_hold
from asfound.web.context import Asked, Form, Here, remember
from asfound.web.local_times import local_time
from asfound.web.problems import kind_of
from asfound.web.session import NAME_COOKIE
from asfound.web.slugs import slug, unslug

router = APIRouter(prefix="/vehicles/{part}/holds")


@router.get("")
def show(here: Asked, part: str) -> Response:
    """Every hold of the vehicle, and the form for a new one."""
    return _page(here, unslug(part), {}, None)


@router.post("/place")
def place(here: Asked, part: str, form: Form) -> Response:
    """Places a hold; its times are in the fleet's zone."""
    number, by = unslug(part), _by(here, form)
    desk = here.services.desk
    try:
        request = PlaceHold(
            here.services.shelf.fleet().vehicle(number),
            local_time(form.get("start", ""), here.zone(), 0),
            local_time(form.get("end", ""), here.zone(), 1),
            form.get("reason", ""),
            by,
            desk.writer,
        )
        place_hold(request, store=desk.store, clock=desk.clock)
    except AsfoundError as error:
        return _page(here, number, form, error)
    return _back(here, number, by)


@router.post("/release")
def release(here: Asked, part: str, form: Form) -> Response:
    """Releases a hold."""
    number, by = unslug(part), _by(here, form)
    desk = here.services.desk
    try:
        request = ReleaseHold(form.get("hold", ""), by, form.get("reason", ""))
        release_hold(request, store=desk.store, clock=desk.clock)
    except AsfoundError as error:
        return _page(here, number, form, error)
    return _back(here, number, by)


def _by(here: Here, form: Mapping[str, str]) -> str:
    return form.get("by", "").strip() or here.name


def _back(here: Here, number: str, by: str) -> Response:
    answer = here.go(f"/vehicles/{slug(number)}/holds")
    remember(answer, NAME_COOKIE, by)
    return answer


def _page(
    here: Here, number: str, typed: Mapping[str, str], error: AsfoundError | None
) -> Response:
    vehicle = here.services.shelf.fleet().vehicle(number)
    holds = list_holds(vehicle.number, store=here.services.desk.store)
    return here.page(
        "holds.html.j2",
        kind_of(error).status if error is not None else 200,
        vehicle=vehicle,
        holds=sorted(holds, key=lambda item: (not item.active, item.placed_at)),
        requests=list_requests(here.services.requests, vehicle.number),
        typed=typed,
        error=error,
    )
