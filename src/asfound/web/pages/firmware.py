"""Firmware: the catalogue, what to put on a vehicle's recorder, and what that changes."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import APIRouter
from starlette.responses import Response

from asfound.errors import AsfoundError
from asfound.jobs.vehicle_firmware import WayAsked
from asfound.web.context import Asked, Here
from asfound.web.problems import kind_of
from asfound.web.stick_words import CHANGES, EFFECTS, OUTCOMES
from asfound.web.view_firmware import WayView, firmware_view, way_view
from asfound.web.view_rollout import ChangesView, Turn, changes_view, turns_of

router = APIRouter()


@router.get("/firmware")
def show(here: Asked) -> Response:
    """Every image, by recorder model."""
    return here.page("firmware.html.j2", view=firmware_view(here.services))


@router.get("/firmware/choose")
def choose(here: Asked) -> Response:
    """The right image for a vehicle and the way there, with every reason."""
    typed = asked_of(here)
    number = typed.get("vehicle", "")
    view: WayView | None = None
    turns: tuple[Turn, ...] = ()
    error: AsfoundError | None = None
    if number:
        asked = WayAsked(typed.get("hardware", ""), typed.get("installed", ""), typed.get("to", ""))
        try:
            view = way_view(number, asked, here.services)
            turns = turns_of(view.vehicle, here.services)
        except AsfoundError as fault:
            error = fault
    return here.page(
        "firmware-choose.html.j2",
        kind_of(error).status if error is not None else 200,
        view=view,
        turns=turns,
        outcomes=OUTCOMES,
        typed=typed,
        error=error,
    )


@router.get("/firmware/changes")
def changes(here: Asked) -> Response:
    """What a version changes in the settings, for a vehicle or for every class."""
    typed = asked_of(here)
    number, map_id = typed.get("vehicle", ""), typed.get("map", "")
    view: ChangesView | None = None
    error: AsfoundError | None = None
    if typed.get("to") and (number or map_id):
        old, new = typed.get("from", ""), typed["to"]
        try:
            view = changes_view(number, map_id, old, new, here.services)
        except AsfoundError as fault:
            error = fault
    return here.page(
        "firmware-changes.html.j2",
        kind_of(error).status if error is not None else 200,
        view=view,
        typed=typed,
        error=error,
        changes=CHANGES,
        effects=EFFECTS,
    )


def asked_of(here: Here) -> Mapping[str, str]:
    """What stands in the address, without blanks around it."""
    return {name: text.strip() for name, text in here.request.query_params.items()}
