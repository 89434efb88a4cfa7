"""Today: visits that are open, what is next in each, and what was closed last."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from asfound.model.visit_line import LineQuery
from asfound.web.context import Asked
from asfound.web.view_fleet import PAGE

router = APIRouter()
CLOSED_SHOWN = 5


@router.get("/")
def today(here: Asked) -> Response:
    """The first page."""
    store = here.services.desk.store
    shown = store.lines(LineQuery(closed=False, limit=PAGE + 1))
    closed = store.lines(LineQuery(closed=True, limit=CLOSED_SHOWN))
    return here.page(
        "today.html.j2",
        fleet=here.services.shelf.fleet(),
        open_visits=shown[:PAGE],
        more=len(shown) > PAGE,
        closed_visits=closed,
    )
