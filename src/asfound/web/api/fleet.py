"""The fleet as a whole."""

from __future__ import annotations

from fastapi import APIRouter
from pydantic import BaseModel

from asfound.web.context import Asked
from asfound.web.view_fleet import vehicle_index

router = APIRouter(tags=["fleet"])


class FleetOut(BaseModel):
    """``vehicles`` is how many there are; ``minimum_days`` how long footage is promised."""

    name: str
    time_zone: str
    minimum_days: int | None
    vehicles: int
    depots: list[str]
    classes: list[str]


@router.get("/fleet")
def fleet(here: Asked) -> FleetOut:
    """Name, zone, depots and classes."""
    index = vehicle_index(here.services)
    return FleetOut(
        name=index.fleet.name,
        time_zone=index.fleet.time_zone,
        minimum_days=index.fleet.minimum_days,
        vehicles=len(index.vehicles),
        depots=list(index.depots),
        classes=list(index.classes),
    )
