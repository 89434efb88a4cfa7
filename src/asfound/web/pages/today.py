"""Today: visits that are open, what is next in each, and what was closed last."""

from __future__ import annotations

from collections.abc import Sequence

from fastapi import APIRouter
from starlette.responses import Response

from asfound.errors import AsfoundError
from asfound.jobs.request_where import FAR, Located
from asfound.model.visit_line import LineQuery
from asfound.web.context import Asked, Here
from asfound.web.view_fleet import PAGE
from asfound.web.view_requests import row_of

router = APIRouter()
CLOSED_SHOWN = 5


@router.get("/")
def today(here: Asked) -> Response:
    """The first page."""
    store = here.services.desk.store
    shown = store.lines(LineQuery(closed=False, limit=PAGE + 1))
    closed = store.lines(LineQuery(closed=True, limit=CLOSED_SHOWN))
    waiting, error = _waiting(here)
    return here.page(
        "today.html.j2",
        fleet=here.services.shelf.fleet(),
        open_visits=shown[:PAGE],
        more=len(shown) > PAGE,
        closed_visits=closed,
        urgent=row_of(waiting[0], store.holds(waiting[0].request.vehicle)) if waiting else None,
        waiting=len(waiting),
        far=FAR,
        footage_error=error,
    )


def _waiting(here: Here) -> tuple[Sequence[Located], AsfoundError | None]:
    """Open requests for footage, the most urgent first; what is wrong with them keeps nobody from
    the visits."""
    try:
        return here.server.looks.waiting(), None
    except AsfoundError as error:
        return (), error
