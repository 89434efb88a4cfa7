"""What is known of a vehicle for the bench: its newest settings, and rates its recordings had."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from asfound.jobs.size_storage import Measured
from asfound.jobs.visit_journal import load_visit
from asfound.model.fleet import Fleet, Vehicle
from asfound.model.menu_map import MenuMap
from asfound.model.visit import VisitState
from asfound.model.visit_line import LineQuery
from asfound.web.services import Services

LOOKED_AT = 3
"""How many of the newest visits are looked at."""


@dataclass(frozen=True, slots=True)
class KnownSettings:
    """Certain ``values`` of a vehicle: ``visit`` "" and what the fleet agreed on when no visit
    knows better; ``agreed``: its target, else as it was read."""

    vehicle: Vehicle
    fleet: Fleet
    menu_map: MenuMap
    firmware: str
    values: Mapping[str, str]
    visit: str
    agreed: bool


def known_settings(number: str, services: Services) -> KnownSettings:
    """The newest settings. Raises NotFound, MapError, IntegrityError, StorageError."""
    fleet = services.shelf.fleet()
    vehicle = fleet.vehicle(number)
    menu_map = services.shelf.menu_map(vehicle.recorder.map_id)
    for state in _newest(vehicle, services):
        if state.target is not None:
            values: Mapping[str, str] = state.target.as_dict()
            return KnownSettings(
                vehicle, fleet, menu_map, state.firmware_left, values, state.id, True
            )
        if state.as_found is not None:
            values = state.as_found_values()
            return KnownSettings(
                vehicle, fleet, menu_map, state.firmware_found, values, state.id, False
            )
    firmware = vehicle.recorder.firmware
    standard = fleet.standard(menu_map.id)
    agreed = {
        **standard.baseline, **standard.classes.get(vehicle.vehicle_class, {}), **vehicle.overrides
    }  # fmt: skip
    there = {field.id for field in menu_map.fields_in(firmware)}
    values = {name: value for name, value in agreed.items() if name in there}
    return KnownSettings(vehicle, fleet, menu_map, firmware, values, "", True)


def known_rates(number: str, services: Services) -> tuple[Vehicle, str, tuple[Measured, ...]]:
    """The vehicle, the newest visit with a proof ("" = none), and the rates in it. Raises as
    above."""
    vehicle = services.shelf.fleet().vehicle(number)
    for state in _newest(vehicle, services):
        if state.proof is not None:
            rates = tuple(
                Measured(one.channel, one.duration_s, one.bitrate_bps)
                for one in state.proof.recordings
                if one.channel is not None and one.duration_s and one.bitrate_bps
            )
            if rates:
                return vehicle, state.id, rates
    return vehicle, "", ()


def _newest(vehicle: Vehicle, services: Services) -> Iterator[VisitState]:
    store = services.desk.store
    for line in store.lines(LineQuery(vehicles=(vehicle.number,), limit=LOOKED_AT)):
        yield load_visit(line.id, store=store, blobs=services.desk.blobs)
