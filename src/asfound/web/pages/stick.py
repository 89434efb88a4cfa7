"""Firmware sticks: which are plugged in, what is on one, and one image put on."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import APIRouter
from starlette.responses import Response

from asfound.errors import AsfoundError
from asfound.jobs.stick_slip import NAME as SLIP_PATH
from asfound.web.context import Asked, Form, Here, remember
from asfound.web.pages.firmware import asked_of
from asfound.web.problems import Problem, kind_of
from asfound.web.session import NAME_COOKIE
from asfound.web.stick_words import FAULTS, TELLING, VERDICTS
from asfound.web.sticking import (
    StickWork,
    last_task,
    start_check,
    start_prepare,
    stick_place,
    stop_stick,
    subject_of,
)
from asfound.web.view_stick import images_here, stick_view, way_of

router = APIRouter(prefix="/stick")


@router.get("")
def every(here: Asked) -> Response:
    """The places of sticks."""
    book = here.server.sticks
    places = [(place, book.get(place.key)) for place in here.services.sticks.places()]
    return here.page("sticks.html.j2", places=places, typed=asked_of(here), verdicts=VERDICTS)


@router.get("/{key}")
def one(here: Asked, key: str) -> Response:
    """One stick: what was found of it, and the form that prepares it."""
    return stick_page(here, key, asked_of(here), None)


@router.post("/{key}/check")
def check(here: Asked, key: str, form: Form) -> Response:
    """Begins to look at it."""
    try:
        start_check(key, form.get("sha256", ""), work_of(here))
    except (AsfoundError, Problem) as error:
        return stick_page(here, key, form, error)
    return here.go(f"/stick/{key}")


@router.post("/{key}/prepare")
def prepare(here: Asked, key: str, form: Form) -> Response:
    """Begins to put the image on that the page named."""
    by = form.get("by", "").strip() or here.name
    try:
        if form.get("sure", "") != "1":
            raise Problem(422, "tick that you have read what will be written, then send it again")
        start_prepare(key, form.get("image", ""), by, work_of(here))
    except (AsfoundError, Problem) as error:
        return stick_page(here, key, form, error)
    answer = here.go(f"/stick/{key}")
    remember(answer, NAME_COOKIE, by)
    return answer


@router.post("/{key}/stop")
def stop(here: Asked, key: str, form: Form) -> Response:
    """Asks for the end of it."""
    try:
        stop_stick(key, form.get("task", ""), here.server.tasks)
    except AsfoundError as error:
        return stick_page(here, key, form, error)
    return here.go(f"/stick/{key}")


def work_of(here: Here) -> StickWork:
    """What work on a stick needs."""
    return StickWork(here, here.server.tasks, here.server.sticks)


def stick_page(
    here: Here, key: str, typed: Mapping[str, str], error: AsfoundError | Problem | None
) -> Response:
    """A stick's page. Raises NotFound for a key that nobody named."""
    place = stick_place(key, here.services)
    task = last_task(key, here.server.tasks)
    return here.page(
        "stick.html.j2",
        kind_of(error).status if error is not None else 200,
        place=place,
        view=stick_view(here.server.sticks.get(key), here.services),
        images=images_here(here.services),
        way=way_of(typed.get("vehicle", ""), typed.get("image", ""), here.services),
        subject=subject_of(key),
        slip_path=SLIP_PATH,
        task=task,
        typed=typed,
        error=error,
        verdicts=VERDICTS,
        faults=FAULTS,
        telling=TELLING,
    )
