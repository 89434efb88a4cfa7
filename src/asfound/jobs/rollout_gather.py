"""The vehicles of a rollout, and the values agreed for them."""

from __future__ import annotations

from asfound.errors import UsageError
from asfound.jobs.rollout_changes import Agreed
from asfound.model.fleet import Fleet, Vehicle
from asfound.model.menu_map import MenuMap
from asfound.model.rollout import Rollout
from asfound.model.visit import VisitState


def rollout_numbers(rollout: Rollout, fleet: Fleet) -> tuple[str, ...]:
    """Numbers of the vehicles that have the rollout's recorder."""
    return tuple(one.number for one in fleet.vehicles if one.recorder.map_id == rollout.map_id)


def agreed_of_classes(fleet: Fleet, menu_map: MenuMap) -> tuple[Agreed, ...]:
    """What is agreed for every class that has this recorder."""
    standard = fleet.standard(menu_map.id)
    fitted = [one for one in fleet.vehicles if one.recorder.map_id == menu_map.id]
    classes = sorted({one.vehicle_class for one in fitted} | set(standard.classes))
    return tuple(Agreed(f"class {name}", standard, name) for name in classes)


def agreed_of_vehicle(
    fleet: Fleet, fitted: Vehicle, menu_map: MenuMap, last: VisitState | None
) -> Agreed:
    """What is agreed for one vehicle, and the values that its ``last`` visit left. Raises
    UsageError for a vehicle with another recorder."""
    if fitted.recorder.map_id != menu_map.id:
        raise UsageError(
            f"vehicle {fitted.number} has a {fitted.recorder.map_id}, not a {menu_map.id}"
        )
    left = values_left(last, menu_map) if last is not None else {}
    standard = fleet.standard(menu_map.id)
    name = f"vehicle {fitted.number}"
    return Agreed(name, standard, fitted.vehicle_class, fitted.overrides, left)


def values_left(state: VisitState, menu_map: MenuMap) -> dict[str, str]:
    """Certain values of a visit, canonical: as left, else as found."""
    if state.rounds:
        last = state.rounds[-1]
        values = last.reading.sure_values() | {item.id: item.value for item in last.settled}
    else:
        values = state.as_found_values()
    known = {one.id for one in menu_map.fields}
    return {name: value for name, value in values.items() if name in known}
