"""Holds of a vehicle: orders to keep footage, placed and released with name and reason."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from fastapi import APIRouter
from starlette.responses import Response

from asfound.errors import AsfoundError, UsageError
from asfound.jobs.holds import PlaceHold, ReleaseHold, list_holds, place_hold, release_hold
from asfound.web.context import Asked, Form, Here, remember
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
            _local(form.get("start", ""), here, 0),
            _local(form.get("end", ""), here, 1),
            form.get("reason", ""),
            by,
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


def _local(text: str, here: Here, fold: int) -> datetime:
    """A date and time as a form sends it, in the fleet's zone. ``fold`` says which of two hours
    is meant when clocks go back: the first at the start, so that the hold takes the wider span."""
    try:
        made = datetime.fromisoformat(text.strip())
    except ValueError:
        raise UsageError(f"{text!r} is no date and time; write it like 2026-11-25T08:00") from None
    return made if made.tzinfo is not None else made.replace(tzinfo=here.zone(), fold=fold)


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
        typed=typed,
        error=error,
    )
