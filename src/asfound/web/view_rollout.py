"""Rollouts as pages show them: where each stands, wave by wave, and what a version changes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, time
from zoneinfo import ZoneInfo

from asfound.errors import AsfoundError, InputError
from asfound.jobs.firmware_rules import hardware_known, not_in_catalogue
from asfound.jobs.rollout_changes import Changes, RolloutChanges, rollout_changes
from asfound.jobs.rollout_gather import (
    agreed_of_classes,
    agreed_of_vehicle,
    rollout_numbers,
)
from asfound.jobs.rollout_outcomes import VehicleOutcome
from asfound.jobs.rollout_status import RolloutStatus, Standing, rollout_status
from asfound.jobs.rollout_visits import rollout_visits
from asfound.jobs.rollout_waves import OutOfStep, out_of_step, waves_of
from asfound.model.fleet import Vehicle
from asfound.model.menu_map import MenuMap
from asfound.model.rollout import Outcome, Rollout
from asfound.web.services import Services
from asfound.web.view_firmware import map_name, newest_visits

FOLDED = 300
"""Vehicles of a rollout up to which a vehicle's own page works the whole rollout out."""


@dataclass(frozen=True, slots=True)
class RolloutLine:
    """A rollout in the list; ``error`` where its file, or what it names, is wrong."""

    name: str
    rollout: Rollout | None = None
    standing: Standing | None = None
    error: str = ""


@dataclass(frozen=True, slots=True)
class WaveRow:
    """One wave: its vehicles, how many of them have which outcome ("": none yet)."""

    number: int
    vehicles: tuple[VehicleOutcome, ...]
    counts: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class RolloutView:
    """One rollout. ``before``: vehicles that had the version before it began."""

    name: str
    model: str
    rollout: Rollout
    standing: Standing
    waves: tuple[WaveRow, ...]
    before: tuple[VehicleOutcome, ...]
    out_of_step: tuple[OutOfStep, ...]
    versions: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True)
class ChangesView:
    """What version ``new`` changes against ``old``; ``who``: whose agreed values were looked at."""

    menu_map: MenuMap
    old: str
    new: str
    vehicle: Vehicle | None
    made: Changes

    def label(self, field_id: str) -> str:
        """A setting's label."""
        return self.menu_map.field(field_id).label

    def page(self, field_id: str) -> str:
        """The title of its page."""
        return self.menu_map.page_of(field_id).title


@dataclass(frozen=True, slots=True)
class Turn:
    """A rollout that a vehicle belongs to; ``wave`` None: in none, or not worked out here."""

    name: str
    rollout: Rollout
    wave: int | None
    next: bool
    outcome: Outcome | None


def rollout_lines(services: Services) -> tuple[RolloutLine, ...]:
    """Every rollout with where it stands; a faulty one says what is wrong with it."""
    made = []
    for name in services.shelf.rollout_ids():
        try:
            rollout = services.shelf.rollout(name)
            made.append(RolloutLine(name, rollout, _standing(rollout, services)))
        except AsfoundError as error:
            made.append(RolloutLine(name, error=str(error)))
    return tuple(made)


def rollout_view(name: str, services: Services) -> RolloutView:
    """One rollout. Raises NotFound, InputError, MapError, StorageError, IntegrityError."""
    rollout = services.shelf.rollout(name)
    standing = _standing(rollout, services)
    waves = waves_of(rollout, standing)
    numbers = sorted(set(waves.values()))
    menu_map = services.shelf.menu_map(rollout.map_id)
    return RolloutView(
        name,
        map_name(rollout.map_id, services),
        rollout,
        standing,
        tuple(_wave(number, waves, standing) for number in numbers),
        tuple(one for one in standing.vehicles if one.vehicle.number not in waves),
        out_of_step(rollout, standing, menu_map),
        tuple(Counter(one.firmware for one in standing.vehicles).most_common()),
    )


def changes_view(number: str, map_id: str, old: str, new: str, services: Services) -> ChangesView:
    """What a version changes for one vehicle, or with ``number`` "" for every class. ``old`` "":
    as the vehicle's last visit left it. Raises NotFound, UsageError, InputError, MapError."""
    fleet = services.shelf.fleet()
    if not number:
        menu_map = services.shelf.menu_map(map_id)
        who = agreed_of_classes(fleet, menu_map)
        made = rollout_changes(RolloutChanges(menu_map, old, new, who))
        return ChangesView(menu_map, old, new, None, made)
    vehicle = fleet.vehicle(number)
    menu_map = services.shelf.menu_map(vehicle.recorder.map_id)
    visits = newest_visits(vehicle, services)
    last = visits[0] if visits else None
    old = old or (last.firmware_left if last is not None else "") or vehicle.recorder.firmware
    mine = (agreed_of_vehicle(fleet, vehicle, menu_map, last),)
    made = rollout_changes(RolloutChanges(menu_map, old, new, mine))
    return ChangesView(menu_map, old, new, vehicle, made)


def turns_of(vehicle: Vehicle, services: Services) -> tuple[Turn, ...]:
    """The rollouts of a vehicle's recorder; faulty files are left to their own page."""
    made = []
    fleet = services.shelf.fleet()
    for name in services.shelf.rollout_ids():
        try:
            rollout = services.shelf.rollout(name)
            if rollout.map_id != vehicle.recorder.map_id:
                continue
            if len(rollout_numbers(rollout, fleet)) > FOLDED:
                made.append(Turn(name, rollout, None, False, None))
                continue
            standing = _standing(rollout, services)
        except AsfoundError:
            continue
        mine = next(
            (one for one in standing.vehicles if one.vehicle.number == vehicle.number), None
        )
        wave = waves_of(rollout, standing).get(vehicle.number)
        made.append(
            Turn(name, rollout, wave, vehicle in standing.next, mine.outcome if mine else None)
        )
    return tuple(made)


def _standing(rollout: Rollout, services: Services) -> Standing:
    fleet, desk = services.shelf.fleet(), services.desk
    start = datetime.combine(rollout.started_on, time.min, ZoneInfo(fleet.time_zone))
    numbers = rollout_numbers(rollout, fleet)
    visits = rollout_visits(numbers, start, store=desk.store, blobs=desk.blobs)
    menu_map = services.shelf.menu_map(rollout.map_id)
    catalogue = services.shelf.catalogue()
    if catalogue is not None and (lacks := not_in_catalogue(rollout, catalogue)):
        raise InputError(f"rollout {rollout.id}: {lacks}; correct the rollout, or the catalogue")
    known = hardware_known(catalogue)
    now = desk.clock.now()
    return rollout_status(RolloutStatus(rollout, fleet, menu_map, visits, start, now, known))


def _wave(number: int, waves: Mapping[str, int], standing: Standing) -> WaveRow:
    mine = tuple(one for one in standing.vehicles if waves.get(one.vehicle.number) == number)
    counts = Counter(one.outcome.value if one.outcome is not None else "" for one in mine)
    return WaveRow(number, mine, counts)
