"""Find vehicles of a fleet by number or plate, and by depot, class or open visit.

What is compared is worked out once for a fleet, so that a fleet of ten thousand is searched as
one of ten.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from asfound.model.fleet import Fleet, Vehicle


@dataclass(frozen=True, slots=True)
class FindVehicles:
    """Vehicles whose number, plate or recorder's serial number holds ``text`` (blanks and case
    do not count), of this depot and class ("": any), numbers in ``only`` (None: any)."""

    text: str = ""
    depot: str = ""
    vehicle_class: str = ""
    only: Collection[str] | None = None


@dataclass(frozen=True)
class VehicleIndex:
    """A fleet ready to be searched; ``keys`` beside each vehicle of ``vehicles``."""

    fleet: Fleet
    vehicles: tuple[Vehicle, ...]
    keys: tuple[str, ...]
    depots: tuple[str, ...]
    classes: tuple[str, ...]


def index_vehicles(fleet: Fleet) -> VehicleIndex:
    """The fleet ready to be searched, sorted as people count: 41 before 217."""
    vehicles = tuple(sorted(fleet.vehicles, key=lambda item: _counted(item.number)))
    keys = tuple(
        "\n".join(_key(text) for text in (item.number, item.plate, item.recorder.serial))
        for item in vehicles
    )
    depots = tuple(sorted({item.depot for item in vehicles}))
    classes = tuple(sorted({item.vehicle_class for item in vehicles}))
    return VehicleIndex(fleet, vehicles, keys, depots, classes)


def find_vehicles(request: FindVehicles, index: VehicleIndex) -> Sequence[Vehicle]:
    """The vehicles that fit; one whose number is exactly ``text`` comes first."""
    text = _key(request.text)
    if not (text or request.depot or request.vehicle_class or request.only is not None):
        return index.vehicles
    found = [
        item
        for item, key in zip(index.vehicles, index.keys, strict=True)
        if (not text or text in key)
        and (not request.depot or item.depot == request.depot)
        and (not request.vehicle_class or item.vehicle_class == request.vehicle_class)
        and (request.only is None or item.number in request.only)
    ]
    exact = [item for item in found if text and _key(item.number) == text]
    return [*exact, *(item for item in found if item not in exact)] if exact else found


def _key(text: str) -> str:
    return "".join(text.split()).casefold()


def _counted(number: str) -> tuple[int, int, str]:
    """Numbers by their value, before names by their letters."""
    digits = number.isascii() and number.isdecimal()
    return (0, int(number), number) if digits else (1, 0, number.casefold())
