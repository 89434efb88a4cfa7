"""Which settings of a vehicle's recorder changed when, visit by visit."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query
from starlette.responses import Response

from asfound.web.context import Asked
from asfound.web.slugs import unslug
from asfound.web.view_history import history_view

router = APIRouter()


@router.get("/vehicles/{part}/settings")
def history(
    here: Asked, part: str, page: Annotated[int, Query(ge=1, le=1_000_000)] = 1
) -> Response:
    """The history, newest visit first."""
    view = history_view(unslug(part), page, here.services)
    return here.page("history.html.j2", view=view)
