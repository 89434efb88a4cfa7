"""A visit: steps as cards, the present one large; tick off, note, override, close."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from fastapi import APIRouter
from starlette.responses import Response

from asfound.errors import AsfoundError
from asfound.web.context import Asked, Form, Here, remember
from asfound.web.events import holds_stamp
from asfound.web.heads import HeadMoved
from asfound.web.problems import Problem, kind_of
from asfound.web.session import NAME_COOKIE
from asfound.web.step_pages import GATE_PAGES, STEP_PAGES, page_for
from asfound.web.view_visit import load_view, may_override
from asfound.web.visit_acts import Act, add_note, choose, close, pass_gate, tick_off
from asfound.web.wording import ENTRIES, GATES

router = APIRouter(prefix="/visits/{visit}")


@router.get("")
def show(here: Asked, visit: str) -> Response:
    """The visit as it stands."""
    return visit_page(here, visit, {}, None)


@router.post("/done")
def done(here: Asked, visit: str, form: Form) -> Response:
    """Ticks a step off."""
    return _acted(here, visit, form, tick_off)


@router.post("/note")
def note(here: Asked, visit: str, form: Form) -> Response:
    """Writes a note down."""
    return _acted(here, visit, form, add_note)


@router.post("/override")
def override(here: Asked, visit: str, form: Form) -> Response:
    """Passes a shut gate, with name and reason."""
    return _acted(here, visit, form, pass_gate)


@router.post("/firmware")
def firmware(here: Asked, visit: str, form: Form) -> Response:
    """Records which firmware is to be put on."""
    return _acted(here, visit, form, choose)


@router.post("/close")
def close_one(here: Asked, visit: str, form: Form) -> Response:
    """Closes the visit."""
    return _acted(here, visit, form, close)


def _acted(
    here: Here, visit: str, form: Mapping[str, str], act: Callable[[Act, Here], object]
) -> Response:
    """Do what a form asks, and lead back to the visit; when it cannot be done, show the visit
    as it stands with what was typed."""
    made = Act.of(visit, form, here.name)
    try:
        act(made, here)
    except (AsfoundError, Problem) as error:
        return visit_page(here, visit, form, error)
    here.server.hub.wake(visit)
    answer = here.go(f"/visits/{visit}")
    if made.by:
        remember(answer, NAME_COOKIE, made.by)
    return answer


def visit_page(
    here: Here, visit: str, typed: Mapping[str, str], error: AsfoundError | Problem | None
) -> Response:
    """The visit's page; ``typed`` is put back into the form that ``error`` came from."""
    view = load_view(visit, here.services)
    return here.page(
        "visit.html.j2",
        kind_of(error).status if error is not None else 200,
        view=view,
        holds_stamp=holds_stamp(view.state.holds),
        typed=typed,
        error=error,
        since=error.since if isinstance(error, HeadMoved) else (),
        gates=GATES,
        entries=ENTRIES,
        may_override=may_override,
        page_for=page_for,
        gate_pages=GATE_PAGES,
        step_pages=STEP_PAGES,
    )
