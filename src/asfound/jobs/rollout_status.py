"""Where a rollout stands: who is on what, what the stop rule says, and which vehicles are next."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from asfound.calc.stop_rule import Ruled, decide, ever_stopped, needed_without_failure
from asfound.errors import InputError
from asfound.jobs.rollout_outcomes import VehicleOutcome, vehicle_outcome
from asfound.model.fleet import Fleet, Vehicle
from asfound.model.menu_map import MenuMap
from asfound.model.rollout import Decision, Outcome, Rollout
from asfound.model.visit import VisitState

TOLD = (Outcome.FAILED, Outcome.PASSED)


@dataclass(frozen=True, slots=True)
class RolloutStatus:
    """``visits``: by vehicle number, those since ``start`` and the last one; ``start`` is when
    the rollout's first day begins, ``now`` when it is asked; both aware. ``hardware``: revisions
    by recorder serial, besides those of the fleet file."""

    rollout: Rollout
    fleet: Fleet
    menu_map: MenuMap
    visits: Mapping[str, Sequence[VisitState]]
    start: datetime
    now: datetime
    hardware: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Standing:
    """``decision`` and ``why`` for the whole rollout; ``ruled`` is what the stop rule alone says.

    ``wave``: 0 is the pilot. ``next``: vehicles to do now, none unless the decision is go-on.
    ``pilot_needed``: vehicles, none failing, before the rule says go on. ``done``: nothing is left
    to do. ``unsure``: vehicles whose hardware revision nobody knows, where the version is for
    some only; they are in no wave until it is known.
    """

    vehicles: tuple[VehicleOutcome, ...]
    ruled: Ruled
    decision: Decision
    why: str
    wave: int
    next: tuple[Vehicle, ...]
    pilot_needed: int
    done: bool
    unsure: tuple[Vehicle, ...] = ()


def rollout_status(request: RolloutStatus) -> Standing:
    """Where the rollout stands. Raises InputError (a vehicle or version that does not fit)."""
    rollout = request.rollout
    fitting, unsure = _fitting(request)
    pilot = _pilot(rollout, fitting, {one.number for one in unsure})
    vehicles = tuple(
        vehicle_outcome(
            rollout, one, request.visits.get(one.number, ()), request.start, request.now
        )
        for one in (*pilot, *spread(one for one in fitting if one not in pilot))
    )
    reached = [one for one in vehicles if one.outcome is not None]
    told = [one for one in reached if one.outcome in TOLD]
    failed = sum(one.outcome is Outcome.FAILED for one in told)
    untold = sum(one.outcome is Outcome.COULD_NOT_TELL for one in reached)
    ruled = decide(rollout.limits, failed, len(told), untold)
    left = [one for one in vehicles if one.outcome is None and one.firmware != rollout.target]
    wave, room, begun = _wave(rollout, len(pilot), vehicles)
    decision, why = _decision(rollout, ruled, reached, min(room, len(left)) if begun else 0)
    if decision is Decision.GO_ON and not left:
        why = (
            "every vehicle whose hardware is known has the version"
            if unsure
            else "every vehicle has the version"
        )
    go = decision is Decision.GO_ON
    return Standing(
        vehicles,
        ruled,
        decision,
        why,
        wave,
        tuple(one.vehicle for one in left[:room]) if go else (),
        needed_without_failure(rollout.limits),
        not left and not unsure,
        unsure,
    )


def spread(vehicles: Iterable[Vehicle]) -> tuple[Vehicle, ...]:
    """The vehicles in turn from every depot and class, each group as people count: the order
    does not depend on that of the fleet file."""
    groups: dict[tuple[str, str], list[Vehicle]] = {}
    for one in sorted(vehicles, key=_counted):
        groups.setdefault((one.depot, one.vehicle_class), []).append(one)
    turns = [
        (turn, depot, kind, one)
        for (depot, kind), members in groups.items()
        for turn, one in enumerate(members)
    ]
    return tuple(one for *_, one in sorted(turns, key=lambda item: item[:3]))


def _counted(vehicle: Vehicle) -> tuple[int, int, str]:
    number = vehicle.number
    digits = number.isascii() and number.isdecimal()
    return (0, int(number), number) if digits else (1, 0, number.casefold())


def _fitting(request: RolloutStatus) -> tuple[list[Vehicle], tuple[Vehicle, ...]]:
    """(vehicles that the version is for, those of which it is not known)."""
    rollout, menu_map = request.rollout, request.menu_map
    if not menu_map.has_firmware(rollout.target):
        raise InputError(
            f"rollout {rollout.id}: menu map {menu_map.id} does not describe firmware "
            f"{rollout.target!r}; it knows {', '.join(menu_map.firmware)}"
        )
    fitting = [one for one in request.fleet.vehicles if one.recorder.map_id == rollout.map_id]
    if not fitting:
        raise InputError(
            f"rollout {rollout.id}: no vehicle of {request.fleet.name} has a {rollout.map_id}; "
            "correct map, or the fleet file"
        )
    if not rollout.hardware:
        return fitting, ()
    known = {
        one.number: one.recorder.hardware or request.hardware.get(one.recorder.serial, "")
        for one in fitting
    }
    unsure = tuple(one for one in fitting if not known[one.number])
    return [one for one in fitting if known[one.number] in rollout.hardware], unsure


def _pilot(
    rollout: Rollout, fitting: Sequence[Vehicle], unsure: Collection[str]
) -> tuple[Vehicle, ...]:
    wanted = rollout.pilot
    if wanted.vehicles:
        known = {one.number: one for one in fitting}
        for number in wanted.vehicles:
            if number in unsure:
                raise InputError(
                    f"rollout {rollout.id}: the hardware of pilot vehicle {number!r} is not known; "
                    "read it off the recorder's label and put it into the fleet file"
                )
            if number not in known:
                raise InputError(
                    f"rollout {rollout.id}: pilot vehicle {number!r} is not in the fleet, or has "
                    f"no {rollout.map_id} of its hardware; name vehicles by their fleet number"
                )
        return tuple(known[number] for number in wanted.vehicles)
    for key, names, have in (
        ("depots", wanted.depots, {one.depot for one in fitting}),
        ("classes", wanted.classes, {one.vehicle_class for one in fitting}),
    ):
        for name in names:
            if name not in have:
                raise InputError(
                    f"rollout {rollout.id}: pilot {key}: no vehicle with a {rollout.map_id} is of "
                    f"{name!r}; there are {', '.join(sorted(have))}"
                )
    from_there = [
        one
        for one in fitting
        if (not wanted.depots or one.depot in wanted.depots)
        and (not wanted.classes or one.vehicle_class in wanted.classes)
    ]
    if len(from_there) < wanted.count:
        raise InputError(
            f"rollout {rollout.id}: the pilot wants {wanted.count} vehicles, there are "
            f"{len(from_there)}; lower count, or name more depots and classes"
        )
    return spread(from_there)[: wanted.count]


def _wave(
    rollout: Rollout, pilot: int, vehicles: Sequence[VehicleOutcome]
) -> tuple[int, int, bool]:
    """(the wave to work on, how many of it are still to do, whether it was begun). A wave that is
    whole gives way to the next one; vehicles that had the version before are no part of any."""
    open_pilot = sum(
        one.outcome is None and one.firmware != rollout.target for one in vehicles[:pilot]
    )
    if open_pilot:
        return 0, open_pilot, True
    reached = sum(one.outcome is not None for one in vehicles[pilot:])
    wave = 0
    while True:
        size = rollout.waves[min(wave, len(rollout.waves) - 1)]
        wave += 1
        if reached < size:
            return wave, size - reached, reached > 0
        reached -= size


def _decision(
    rollout: Rollout, ruled: Ruled, reached: Sequence[VehicleOutcome], begun: int
) -> tuple[Decision, str]:
    """``begun``: so many of a pilot or wave that was let go are still to do; only a stop keeps
    it from its end."""
    in_turn = [
        (one.since, one.vehicle.number, one.outcome is Outcome.FAILED)
        for one in reached
        if one.outcome in TOLD and one.since is not None
    ]
    if ruled.decision is Decision.STOP:
        return Decision.STOP, f"{ruled.failed} of {ruled.judged} vehicles failed"
    if ever_stopped(rollout.limits, [bad for *_, bad in sorted(in_turn)]):
        return Decision.STOP, "the rule said stop earlier; what passed later does not undo it"
    if begun:
        return Decision.GO_ON, f"still to do of this wave: {begun}"
    if waiting := [one for one in reached if one.outcome is Outcome.WAITING]:
        return Decision.HOLD, f"{len(waiting)} of {len(reached)} are open or in their hold time"
    if ruled.decision is Decision.GO_ON:
        return Decision.GO_ON, f"{ruled.failed} of {ruled.judged} vehicles failed"
    if ruled.decision is Decision.COULD_NOT_TELL:
        return ruled.decision, f"it rests on {ruled.untold} vehicles that could not be told"
    return Decision.HOLD, (
        f"{ruled.failed} of {ruled.judged} vehicles failed: too few to tell, too many to go on; "
        "widen the pilot in the file, or look into the failures"
    )
