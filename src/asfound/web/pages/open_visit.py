"""Opening a visit: which procedure, which firmware the recorder shows, who."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter
from starlette.responses import Response

from asfound.errors import AsfoundError
from asfound.jobs.place_picture import place_picture
from asfound.jobs.visit_open import OpenVisit, open_visit
from asfound.model.procedure import Procedure
from asfound.model.visit_line import LineQuery
from asfound.web.context import Asked, Form, Here, remember
from asfound.web.problems import kind_of
from asfound.web.services import Services
from asfound.web.session import NAME_COOKIE
from asfound.web.slugs import unslug

router = APIRouter()


@dataclass(frozen=True, slots=True)
class Opening:
    """A visit that is to be opened."""

    vehicle: str
    procedure: str
    by: str
    firmware: str = ""


@router.get("/vehicles/{part}/open")
def ask(here: Asked, part: str) -> Response:
    """The form."""
    return _form(here, unslug(part), {}, None)


@router.post("/vehicles/{part}/open")
def opened(here: Asked, part: str, form: Form) -> Response:
    """Opens the visit and leads to it."""
    number = unslug(part)
    by = form.get("by", "").strip() or here.name
    wanted = Opening(number, form.get("procedure", ""), by, form.get("firmware", ""))
    try:
        visit = open_one(wanted, here.services)
    except AsfoundError as error:
        return _form(here, number, dict(form), error)
    answer = here.go(f"/visits/{visit}")
    remember(answer, NAME_COOKIE, by)
    return answer


def open_one(wanted: Opening, services: Services) -> str:
    """Open the visit and return its id. Raises NotFound, UsageError, StorageError."""
    fleet, shelf = services.shelf.fleet(), services.shelf
    vehicle = fleet.vehicle(wanted.vehicle)
    request = OpenVisit(
        vehicle,
        fleet.name,
        fleet.time_zone,
        shelf.procedure(wanted.procedure),
        shelf.menu_map(vehicle.recorder.map_id),
        wanted.by,
        wanted.firmware or None,
        services.desk.writer,
    )
    desk = services.desk
    made = open_visit(
        request, store=desk.store, blobs=desk.blobs, clock=desk.clock, rules=desk.rules
    )
    return made.id


def _form(here: Here, number: str, typed: dict[str, str], error: AsfoundError | None) -> Response:
    shelf = here.services.shelf
    vehicle = shelf.fleet().vehicle(number)
    open_now = here.services.desk.store.lines(LineQuery(vehicles=(vehicle.number,), closed=False))
    return here.page(
        "open.html.j2",
        kind_of(error).status if error is not None else 200,
        vehicle=vehicle,
        menu_map=shelf.menu_map(vehicle.recorder.map_id),
        procedures=_procedures(here),
        open_visits=open_now,
        place=place_picture(vehicle, store=here.services.desk.store),
        typed=typed,
        error=error,
    )


def _procedures(here: Here) -> list[Procedure]:
    """Those that can be used; of one whose file is wrong the command line says what is."""
    shelf = here.services.shelf
    found = []
    for name in shelf.procedure_ids():
        try:
            found.append(shelf.procedure(name))
        except AsfoundError:
            continue
    return found
