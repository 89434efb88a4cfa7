"""Vehicles: find them, and one with all that is known of it."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query
from pydantic import BaseModel

from asfound.model.fleet import Vehicle
from asfound.web.api.shapes import HoldOut, VisitLineOut
from asfound.web.context import Asked
from asfound.web.slugs import slug, unslug
from asfound.web.view_fleet import Wanted, vehicle_page
from asfound.web.view_vehicle import vehicle_view

router = APIRouter(tags=["vehicles"])


class CameraOut(BaseModel):
    """A camera on a channel."""

    channel: int
    name: str


class VehicleOut(BaseModel):
    """A vehicle; ``key`` is how addresses name it."""

    key: str
    number: str
    plate: str
    kind: str
    depot: str
    vehicle_class: str
    recorder: str
    serial: str
    firmware: str
    place: str
    supply_volts: int
    cameras: list[CameraOut]

    @classmethod
    def of(cls, vehicle: Vehicle) -> VehicleOut:
        """From the model's vehicle."""
        fitted = vehicle.recorder
        return cls(
            key=slug(vehicle.number),
            number=vehicle.number,
            plate=vehicle.plate,
            kind=vehicle.kind,
            depot=vehicle.depot,
            vehicle_class=vehicle.vehicle_class,
            recorder=fitted.map_id,
            serial=fitted.serial,
            firmware=fitted.firmware,
            place=fitted.place,
            supply_volts=fitted.supply_volts,
            cameras=[CameraOut(channel=item.channel, name=item.name) for item in vehicle.cameras],
        )


class VehicleRowOut(BaseModel):
    """A vehicle in a list, with its open visit."""

    vehicle: VehicleOut
    open_visit: VisitLineOut | None
    holds: list[HoldOut]


class VehiclePageOut(BaseModel):
    """One page of a list; ``found`` in all."""

    vehicles: list[VehicleRowOut]
    found: int
    page: int
    pages: int


class SettingOut(BaseModel):
    """A setting as last read; ``state`` is sure, doubt, unread or settled."""

    page: str
    label: str
    value: str
    state: str


class VehicleStateOut(BaseModel):
    """A vehicle and all that is known of it; ``settings`` are those of ``settings_visit``."""

    vehicle: VehicleOut
    firmware_known: str
    visits: list[VisitLineOut]
    holds: list[HoldOut]
    settings_visit: str | None
    settings: list[SettingOut]
    proof_visit: str | None
    proof_verdict: str | None


@router.get("/vehicles")
def vehicles(
    here: Asked,
    q: Annotated[str, Query(max_length=100)] = "",
    depot: Annotated[str, Query(max_length=100)] = "",
    vehicle_class: Annotated[str, Query(max_length=100)] = "",
    with_open_visit: bool = False,
    page: Annotated[int, Query(ge=1, le=1_000_000)] = 1,
) -> VehiclePageOut:
    """Vehicles whose number, plate or serial number holds ``q``, fifty a page."""
    shown = vehicle_page(Wanted(q, depot, vehicle_class, with_open_visit, page), here.services)
    return VehiclePageOut(
        vehicles=[
            VehicleRowOut(
                vehicle=VehicleOut.of(row.vehicle),
                open_visit=VisitLineOut.of(row.visit) if row.visit else None,
                holds=[HoldOut.of(hold) for hold in row.holds],
            )
            for row in shown.rows
        ],
        found=shown.found,
        page=shown.number,
        pages=shown.pages,
    )


@router.get("/vehicles/{key}")
def vehicle(here: Asked, key: str) -> VehicleStateOut:
    """One vehicle."""
    view = vehicle_view(unslug(key), here.services)
    settings = view.settings
    return VehicleStateOut(
        vehicle=VehicleOut.of(view.vehicle),
        firmware_known=view.firmware,
        visits=[VisitLineOut.of(line) for line in view.visits],
        holds=[HoldOut.of(hold) for hold in view.holds],
        settings_visit=settings.visit if settings else None,
        settings=[
            SettingOut(page=row.page, label=row.label, value=row.value, state=row.state)
            for row in (settings.rows if settings else ())
        ],
        proof_visit=view.proof_visit or None,
        proof_verdict=view.proof.verdict.value if view.proof else None,
    )
