"""The list of calculations."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from asfound.web.bench import TOOLS
from asfound.web.context import Asked

router = APIRouter()


@router.get("/bench")
def show(here: Asked) -> Response:
    """Every calculation, with what it answers."""
    return here.page("bench-tools.html.j2", tools=TOOLS)
