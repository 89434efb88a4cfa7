"""Copying the footage of a request for evidence: from which folder, where to, how far it is."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import APIRouter
from starlette.responses import Response

from asfound.errors import AsfoundError
from asfound.jobs.footage_requests import one_request
from asfound.jobs.request_where import FAR
from asfound.units import bytes_text
from asfound.web.context import Asked, Form, Here, remember
from asfound.web.copying import CopyAct, CopyDesk, last_copying, start_copying, stop_copying
from asfound.web.problems import Problem, kind_of
from asfound.web.request_form import part_of
from asfound.web.session import NAME_COOKIE

router = APIRouter(prefix="/requests/{name}/copy")


@router.get("")
def show(here: Asked, name: str) -> Response:
    """The form, what is under way, what was copied last."""
    return _page(here, name, {}, None)


@router.post("")
def start(here: Asked, name: str, form: Form) -> Response:
    """Begins to copy."""
    server, by = here.server, form.get("by", "").strip() or here.name
    act = CopyAct(
        name, by, form.get("folder", ""), form.get("place", ""), form.get("name", ""),
        form.get("offset", ""),
    )  # fmt: skip
    try:
        start_copying(act, here.visitor, CopyDesk(here.services, server.tasks, server.copies))
    except (AsfoundError, Problem) as error:
        return _page(here, name, form, error)
    answer = here.go(f"/requests/{name}/copy")
    remember(answer, NAME_COOKIE, by)
    return answer


@router.post("/stop")
def stop(here: Asked, name: str) -> Response:
    """Asks for the end of it."""
    stop_copying(name, here.visitor, here.server.tasks)
    return here.go(f"/requests/{name}/copy")


def _page(
    here: Here, name: str, typed: Mapping[str, str], error: AsfoundError | Problem | None
) -> Response:
    asked = one_request(here.services.requests, name)
    offset = f"{asked.clock_ahead_s:g}" if asked.clock_ahead_s else ""
    return here.page(
        "evidence-copy.html.j2",
        kind_of(error).status if error is not None else 200,
        asked=asked,
        places=here.services.folders.places(),
        bags=here.services.bags.places(),
        task=last_copying(name, here.server.tasks),
        made=here.server.copies.get(name),
        typed=typed or {"name": f"{asked.vehicle} {asked.id}", "offset": offset},
        error=error,
        part=part_of(error),
        size=bytes_text,
        far=FAR,
    )
