"""One vehicle: where the recorder sits, what is fitted, visits, holds, settings, proof."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from asfound.errors import AsfoundError
from asfound.web.context import Asked, Here
from asfound.web.problems import kind_of
from asfound.web.slugs import unslug
from asfound.web.stick_words import OUTCOMES
from asfound.web.view_vehicle import vehicle_view

router = APIRouter()


@router.get("/vehicles/{part}")
def vehicle(here: Asked, part: str) -> Response:
    """The vehicle's page."""
    return vehicle_page(here, unslug(part), None)


def vehicle_page(here: Here, number: str, error: AsfoundError | None) -> Response:
    """The vehicle's page; ``error`` is what became of the photograph that was sent."""
    return here.page(
        "vehicle.html.j2",
        kind_of(error).status if error is not None else 200,
        view=vehicle_view(number, here.services),
        outcomes=OUTCOMES,
        error=error,
    )
