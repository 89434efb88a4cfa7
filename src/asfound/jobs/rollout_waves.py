"""Which vehicle belongs to which wave of a rollout, and which do not keep step."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from asfound.jobs.rollout_outcomes import VehicleOutcome
from asfound.jobs.rollout_status import Standing
from asfound.model.fleet import Vehicle
from asfound.model.menu_map import MenuMap
from asfound.model.rollout import Rollout


@dataclass(frozen=True, slots=True)
class OutOfStep:
    """A vehicle that somebody has to look at, and why in one line."""

    vehicle: Vehicle
    why: str


def waves_of(rollout: Rollout, standing: Standing) -> Mapping[str, int]:
    """Wave by vehicle number, 0 for the pilot: those that have the version in the order in which
    they got it, then the others in the order in which they are next. Vehicles that had the
    version before are in none."""
    size = len(rollout.pilot.vehicles) or rollout.pilot.count
    pilot, others = standing.vehicles[:size], standing.vehicles[size:]
    made = {one.vehicle.number: 0 for one in pilot if _takes_part(rollout, one)}
    got = [one for one in others if one.outcome is not None and one.since is not None]
    got.sort(key=lambda one: (one.since, one.vehicle.number))
    left = [one for one in others if one.outcome is None and _takes_part(rollout, one)]
    wave, room = 1, rollout.waves[0]
    for one in (*got, *left):
        if not room:
            wave += 1
            room = rollout.waves[min(wave, len(rollout.waves)) - 1]
        made[one.vehicle.number] = wave
        room -= 1
    return made


def out_of_step(rollout: Rollout, standing: Standing, menu_map: MenuMap) -> tuple[OutOfStep, ...]:
    """Vehicles with a version that nobody expects there, in the standing's order."""
    size = len(rollout.pilot.vehicles) or rollout.pilot.count
    early = {one.vehicle.number for one in standing.vehicles[size:]} if not standing.wave else set()
    made = []
    for one in standing.vehicles:
        fitted = one.vehicle.recorder
        if not menu_map.has_firmware(one.firmware):
            why = f"the menu map does not know its version {one.firmware}"
        elif one.outcome is not None and one.firmware != rollout.target:
            why = f"version {one.firmware} was put back"
        elif one.outcome is not None and one.vehicle.number in early:
            why = "got the version before the pilot was done"
        elif one.visit and one.firmware != fitted.firmware:
            why = f"the fleet file still says {fitted.firmware}"
        else:
            continue
        made.append(OutOfStep(one.vehicle, why))
    return tuple(made)


def _takes_part(rollout: Rollout, one: VehicleOutcome) -> bool:
    return one.outcome is not None or one.firmware != rollout.target
