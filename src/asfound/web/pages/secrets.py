"""Passwords on a visit's photographs: painted over, and the originals deleted."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import APIRouter
from starlette.responses import Response

from asfound.errors import AsfoundError
from asfound.web.context import Asked, Form, Here, remember
from asfound.web.heads import HeadMoved
from asfound.web.hiding import KIND, HideAct, hiding_view, start_hiding, stop_hiding
from asfound.web.problems import Problem, kind_of
from asfound.web.session import NAME_COOKIE
from asfound.web.step_pages import STEP_PAGES
from asfound.web.tasks import Task
from asfound.web.wording import ENTRIES

router = APIRouter(prefix="/visits/{visit}/secrets")


@router.get("")
def show(here: Asked, visit: str) -> Response:
    """Photographs that show passwords, and the form that has them painted over."""
    return _page(here, visit, {}, None)


@router.post("/hide")
def hide(here: Asked, visit: str, form: Form) -> Response:
    """Begins to paint over."""
    by = form.get("by", "").strip() or here.name
    act = HideAct(visit, form.get("head", ""), by, form.get("whole", "") == "1")
    try:
        start_hiding(act, here.services, here.server.tasks)
    except (AsfoundError, Problem) as error:
        return _page(here, visit, form, error)
    answer = here.go(f"/visits/{visit}/secrets")
    remember(answer, NAME_COOKIE, by)
    return answer


@router.post("/stop")
def stop(here: Asked, visit: str, form: Form) -> Response:
    """Asks for the end of it."""
    try:
        stop_hiding(visit, form.get("task", ""), here.server.tasks)
    except AsfoundError as error:
        return _page(here, visit, form, error)
    return here.go(f"/visits/{visit}/secrets")


def _page(
    here: Here, visit: str, form: Mapping[str, str], error: AsfoundError | Problem | None
) -> Response:
    return here.page(
        "secrets.html.j2",
        kind_of(error).status if error is not None else 200,
        view=hiding_view(visit, here.services),
        task=_task(here, visit),
        typed=form,
        error=error,
        since=error.since if isinstance(error, HeadMoved) else (),
        entries=ENTRIES,
        step_pages=STEP_PAGES,
    )


def _task(here: Here, visit: str) -> Task | None:
    """The last such work, unless what it did is in the journal already."""
    of_kind = [item for item in here.server.tasks.of(visit) if item.kind == KIND]
    return of_kind[-1] if of_kind and of_kind[-1].state != "done" else None
