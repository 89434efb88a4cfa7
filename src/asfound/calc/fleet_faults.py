"""A fleet held against its menu maps: ids that do not exist, values that are not allowed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping

from asfound.errors import NotFound
from asfound.model.fleet import Fleet, Vehicle
from asfound.model.kinds import Secret
from asfound.model.menu_map import MenuMap
from asfound.model.values import problem


def fleet_faults(fleet: Fleet, maps: Mapping[str, MenuMap]) -> tuple[str, ...]:
    """Everything wrong with ``fleet``, one line each; empty when nothing is.

    ``maps`` are the known menu maps by id.
    """
    return (*_standards(fleet, maps), *_twice(fleet), *_vehicles(fleet, maps))


def _standards(fleet: Fleet, maps: Mapping[str, MenuMap]) -> Iterator[str]:
    for standard in fleet.standards:
        where = f"standard {standard.map_id}"
        menu_map = maps.get(standard.map_id)
        if menu_map is None:
            yield f"{where}: no menu map {standard.map_id!r}; known are {', '.join(sorted(maps))}"
            continue
        yield from _settings(f"{where}, baseline", standard.baseline, menu_map)
        for name, values in standard.classes.items():
            yield from _settings(f"{where}, class {name}", values, menu_map)


def _twice(fleet: Fleet) -> Iterator[str]:
    names = Counter(
        name
        for vehicle in fleet.vehicles
        for name in {_folded(vehicle.number), _folded(vehicle.plate)}
    )
    for vehicle in fleet.vehicles:
        for name in (vehicle.number, vehicle.plate):
            if names[_folded(name)] > 1:
                yield f"vehicle {vehicle.number}: {name!r} names more than one vehicle"


def _vehicles(fleet: Fleet, maps: Mapping[str, MenuMap]) -> Iterator[str]:
    for vehicle in fleet.vehicles:
        where = f"vehicle {vehicle.number}"
        fitted = vehicle.recorder
        menu_map = maps.get(fitted.map_id)
        if menu_map is None:
            yield f"{where}: no menu map {fitted.map_id!r}; known are {', '.join(sorted(maps))}"
            continue
        if not menu_map.has_firmware(fitted.firmware):
            yield (
                f"{where}: menu map {menu_map.id} does not describe firmware "
                f"{fitted.firmware!r}; it knows {', '.join(menu_map.firmware)}"
            )
        yield from _channels(where, vehicle, menu_map)
        classes = fleet.standard(fitted.map_id).classes
        if classes and vehicle.vehicle_class not in classes:
            yield (
                f"{where}: the standard of {menu_map.id} has no class "
                f"{vehicle.vehicle_class!r}; it has {', '.join(sorted(classes))}"
            )
        yield from _settings(f"{where}, overrides", vehicle.overrides, menu_map)


def _channels(where: str, vehicle: Vehicle, menu_map: MenuMap) -> Iterator[str]:
    seen: set[int] = set()
    for camera in vehicle.cameras:
        if not 1 <= camera.channel <= menu_map.cameras:
            yield (
                f"{where}: camera {camera.name!r} is on channel {camera.channel}; "
                f"{menu_map.maker} {menu_map.model} has 1 to {menu_map.cameras}"
            )
        if camera.channel in seen:
            yield f"{where}: channel {camera.channel} has more than one camera"
        seen.add(camera.channel)


def _settings(where: str, values: Mapping[str, str], menu_map: MenuMap) -> Iterator[str]:
    for field_id, value in values.items():
        try:
            field = menu_map.field(field_id)
        except NotFound as error:
            yield f"{where}: {error}"
            continue
        if not field.settable:
            yield f"{where}: {field_id} cannot be set on this recorder; remove it"
        elif isinstance(field.type, Secret):
            yield f"{where}: {field_id} is a secret; passwords are not kept here, remove it"
        elif (wrong := problem(field.type, value)) is not None:
            yield f"{where}: {field_id}: {wrong}"


def _folded(name: str) -> str:
    return name.replace(" ", "").casefold()
