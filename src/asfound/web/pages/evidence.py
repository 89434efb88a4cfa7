"""Bags: whether one is what was packed and signed, in folders named when the server started."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import APIRouter
from starlette.responses import Response

from asfound.errors import AsfoundError
from asfound.units import bytes_text
from asfound.web.context import Asked, Form, Here
from asfound.web.problems import Problem, kind_of
from asfound.web.tasks import Task
from asfound.web.verifying import (
    Behind,
    VerifyAct,
    WrongKey,
    last_task,
    start_verifying,
    stop_verifying,
)

router = APIRouter(prefix="/evidence")


@router.get("")
def show(here: Asked) -> Response:
    """Bags that may be looked at, what is under way, and what was found."""
    return _page(here, {}, None)


@router.post("/verify")
def verify(here: Asked, form: Form) -> Response:
    """Begins to verify a bag."""
    server = here.server
    act = VerifyAct(form.get("folder", ""), form.get("public", ""))
    behind = Behind(here.services, server.tasks, server.verified)
    try:
        start_verifying(act, here.visitor, behind)
    except (AsfoundError, Problem) as error:
        return _page(here, form, error)
    return here.go("/evidence")


@router.post("/stop")
def stop(here: Asked, form: Form) -> Response:
    """Asks for the end of it."""
    stop_verifying(form.get("task", ""), here.visitor, here.server.tasks)
    return here.go("/evidence")


def _page(here: Here, typed: Mapping[str, str], error: AsfoundError | Problem | None) -> Response:
    places = here.services.bags.places()
    names = {folder.key: folder.name or place.name for place in places for folder in place.folders}
    looks: list[tuple[str, Task]] = []
    for key, name in names.items():
        task = last_task(key, here.server.tasks)
        if task is not None and task.state != "done":
            looks.append((name, task))
    return here.page(
        "evidence.html.j2",
        kind_of(error).status if error is not None else 200,
        places=places,
        looks=looks,
        outcomes=here.server.verified.all(),
        size=bytes_text,
        typed=typed,
        error=error,
        part=error.part if isinstance(error, WrongKey) else "",
    )
