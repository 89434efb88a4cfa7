"""One vehicle: where the recorder sits, what is fitted, visits, holds, settings, proof."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from asfound.web.context import Asked
from asfound.web.slugs import unslug
from asfound.web.view_vehicle import vehicle_view

router = APIRouter()


@router.get("/vehicles/{part}")
def vehicle(here: Asked, part: str) -> Response:
    """The vehicle's page."""
    return here.page("vehicle.html.j2", view=vehicle_view(unslug(part), here.services))
