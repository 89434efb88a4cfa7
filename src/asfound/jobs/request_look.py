"""Requests with where their footage is: what visits, settings and the fleet file tell of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from asfound.errors import IntegrityError, MapError, NotFound, UsageError
from asfound.jobs.check_settings import facts_of
from asfound.jobs.drive_known import drives_of
from asfound.jobs.kept_hours import AskKept, kept_hours
from asfound.jobs.request_known import Known
from asfound.jobs.request_where import Located, Where, locate
from asfound.model.coverage import IgnitionLog
from asfound.model.drive_register import DriveState
from asfound.model.fleet import Fleet, Vehicle
from asfound.model.footage_request import FootageRequest
from asfound.model.menu_map import MenuMap

WEEK_D = 7.0


@dataclass(frozen=True, slots=True)
class LookFor:
    """``requests`` at ``now``. ``days_a_week`` on which their vehicles drive where no ``log``
    tells; a log is of one vehicle, and so are the requests then."""

    fleet: Fleet
    requests: tuple[FootageRequest, ...]
    now: datetime
    days_a_week: float = WEEK_D
    log: IgnitionLog | None = None


@dataclass(frozen=True, slots=True)
class Sources:
    """``known``: what visits of a vehicle (its number) tell; ``menu_map``: the map of an id;
    ``drives``: all that the register knows."""

    known: Callable[[str], Known]
    menu_map: Callable[[str], MenuMap]
    drives: Callable[[], Sequence[DriveState]] = tuple


def look_for(asked: LookFor, sources: Sources) -> tuple[Located, ...]:
    """Each request with its answer, in the order given. What cannot be told of one vehicle, a
    journal that was altered among it, stands in the notes of its requests and keeps no other from
    being told. Raises StorageError."""
    places: dict[str, Where] = {}
    made = []
    for one in asked.requests:
        if one.vehicle not in places:
            places[one.vehicle] = _where(asked, one.vehicle, sources)
        where = places[one.vehicle]
        try:
            made.append(locate(one, where, asked.now))
        except UsageError as error:
            # Nothing is known to be recorded: no sums without hours a day.
            made.append(locate(one, replace(where, kept=str(error)), asked.now))
    return tuple(made)


def _where(asked: LookFor, number: str, sources: Sources) -> Where:
    try:
        vehicle = asked.fleet.vehicle(number)
    except NotFound:
        # It was sold or renumbered: the request stays.
        return Where("", f"vehicle {number} is no longer in the fleet file")
    serial = vehicle.drive.serial if vehicle.drive else ""
    try:
        known = sources.known(vehicle.number)
    except IntegrityError as error:
        return Where(serial, str(error))
    kept = kept_hours(_asked(asked, vehicle, known, sources))
    try:
        those = drives_of(vehicle.number, serial, known.swaps, sources.drives())
    except IntegrityError as error:
        return Where(serial, str(error))
    return Where(
        those.serial, kept, asked.days_a_week, asked.log, known.coverage, those.swaps, those.drives
    )


def _asked(asked: LookFor, vehicle: Vehicle, known: Known, sources: Sources) -> AskKept:
    facts = facts_of(asked.fleet, vehicle, asked.now.year)
    if known.map_visit is None:
        return AskKept(facts, measured=known.measured)
    try:
        menu_map = sources.menu_map(known.map_visit.vehicle.recorder.map_id)
    except (NotFound, MapError):
        # The map went away since; rates of a proof need none.
        return AskKept(facts, measured=known.measured)
    firmware = known.map_visit.firmware_left
    return AskKept(facts, menu_map, firmware, known.values, known.measured)
