"""The fleet as pages show it: an index that is made once for each fleet file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from asfound.jobs.find_vehicles import FindVehicles, VehicleIndex, find_vehicles, index_vehicles
from asfound.model.fleet import Fleet, Vehicle
from asfound.model.hold import Hold
from asfound.model.visit_line import LineQuery, VisitLine
from asfound.ports.store import Store
from asfound.web.services import Services

PAGE = 20
"""Vehicles or visits on one page: few enough to look through on a phone."""


@dataclass(frozen=True, slots=True)
class VehicleRow:
    """A vehicle in a list: its open visit, its last visit, and what holds its footage."""

    vehicle: Vehicle
    visit: VisitLine | None
    last: VisitLine | None
    holds: tuple[Hold, ...]


@dataclass(frozen=True, slots=True)
class VehiclePage:
    """One page of a list of vehicles: ``found`` in all, ``number`` of ``pages`` from 1."""

    rows: tuple[VehicleRow, ...]
    found: int
    number: int
    pages: int


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which vehicles are asked for; ``with_visit``: only those with an open visit."""

    text: str = ""
    depot: str = ""
    vehicle_class: str = ""
    with_visit: bool = False
    number: int = 1


@lru_cache(maxsize=4)
def _index(key: FleetKey) -> VehicleIndex:
    return index_vehicles(key.fleet)


class FleetKey:
    """A fleet by its identity: comparing ten thousand vehicles would cost more than the page."""

    def __init__(self, fleet: Fleet) -> None:
        self.fleet = fleet

    def __hash__(self) -> int:
        return id(self.fleet)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, FleetKey) and other.fleet is self.fleet


def vehicle_index(services: Services) -> VehicleIndex:
    """The present fleet, ready to be searched. Raises NotFound, InputError."""
    return _index(FleetKey(services.shelf.fleet()))


def vehicle_page(wanted: Wanted, services: Services) -> VehiclePage:
    """One page of the vehicles that fit."""
    store = services.desk.store
    only = None
    if wanted.with_visit:
        only = {line.vehicle for line in store.lines(LineQuery(closed=False))}
    request = FindVehicles(wanted.text, wanted.depot, wanted.vehicle_class, only)
    found = find_vehicles(request, vehicle_index(services))
    pages = max(1, -(-len(found) // PAGE))
    number = min(max(1, wanted.number), pages)
    shown = found[(number - 1) * PAGE : number * PAGE]
    return VehiclePage(tuple(vehicle_rows(shown, store)), len(found), number, pages)


def vehicle_rows(vehicles: Sequence[Vehicle], store: Store) -> list[VehicleRow]:
    """Vehicles with their visits and holds, in one look at the store each."""
    numbers = tuple(item.number for item in vehicles)
    lines = store.lines(LineQuery(vehicles=numbers))
    newest: dict[str, VisitLine] = {}
    open_now: dict[str, VisitLine] = {}
    for line in lines:
        newest.setdefault(line.vehicle, line)
        if not line.closed:
            open_now.setdefault(line.vehicle, line)
    held: dict[str, list[Hold]] = {}
    for hold in store.holds():
        if hold.active and hold.vehicle in numbers:
            held.setdefault(hold.vehicle, []).append(hold)
    return [
        VehicleRow(
            item,
            open_now.get(item.number),
            newest.get(item.number),
            tuple(held.get(item.number, ())),
        )
        for item in vehicles
    ]
