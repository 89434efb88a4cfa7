"""How many hours of recording a vehicle's drive holds, and where that is known from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from asfound.calc.days_kept import Band, Room, days_kept
from asfound.jobs.ask_storage import FILE_SYSTEM, SPREAD
from asfound.jobs.asked import share
from asfound.jobs.check_storage import channels_of, hours_recorded, storage_request
from asfound.jobs.settings_say import Settings, amount, figure, is_on
from asfound.jobs.size_storage import Measured, measured_loads
from asfound.model.menu_map import MenuMap
from asfound.model.sums import Facts


@dataclass(frozen=True, slots=True)
class AskKept:
    """``facts`` of the vehicle; certain ``values`` of its settings ({}: none are known) by the
    ``menu_map``; ``measured`` rates of its last proof (they stand before those of settings)."""

    facts: Facts
    menu_map: MenuMap | None = None
    firmware: str = ""
    values: Mapping[str, str] = field(default_factory=dict)
    measured: Sequence[Measured] = ()


@dataclass(frozen=True, slots=True)
class Kept:
    """Hours of recording that the drive holds, on days of ``hours_a_day`` [h]; ``source`` says
    where from. ``delete_after_d``: the recorder deletes what is older [days], None: it does not.
    ``stops``: it stops when the drive is full."""

    hours: Band
    hours_a_day: float
    source: str
    delete_after_d: float | None = None
    stops: bool = False


def kept_hours(request: AskKept) -> Kept | str:
    """The hours; else in one line what is missing for them."""
    facts, menu_map = request.facts, request.menu_map
    settings = None
    if menu_map is not None and request.values:
        settings = Settings(menu_map, request.firmware, request.values)
    if request.measured:
        return _measured(request, settings)
    if settings is None or menu_map is None:
        return "neither a proof nor settings of this vehicle are known; prove or read it"
    channels = channels_of(menu_map, request.firmware, settings, facts)
    if isinstance(channels, str):
        return channels
    asked = storage_request(channels, settings, facts)
    if isinstance(asked, str):
        return asked
    return _kept(asked.loads[0].hours_a_day, days_kept(asked.loads, asked.room), settings, "sums")


def _measured(request: AskKept, settings: Settings | None) -> Kept | str:
    facts = request.facts
    hours: float | str | None = facts.hours_a_day
    reserve = 0.0
    if settings is not None:
        hours = hours_recorded(settings, facts)
        kept = settings.one("event-reserve")
        reserve = figure(kept) or 0.0
        if kept is not None and getattr(kept.field.type, "unit", "") == "%":
            reserve *= facts.drive_bytes or 0.0
    if isinstance(hours, str):
        return hours
    if facts.drive_bytes is None:
        return "the size of the drive is not known; write it into the fleet file"
    if not hours:
        return "hours a day are not known; write hours_a_day into the fleet file"
    loads = measured_loads(request.measured, hours, share(SPREAD, "spread"))
    room = Room(facts.drive_bytes, share(FILE_SYSTEM, "file_system"), reserve)
    return _kept(hours, days_kept(loads, room), settings, "proof")


def _kept(hours: float, days: Band, settings: Settings | None, source: str) -> Kept:
    made = Kept(days.times(hours), hours, source)
    if settings is None:
        return made
    full = settings.one("overwrite")
    stops = full is not None and (amount(full) == "stop" or not is_on(full))
    return replace(made, delete_after_d=figure(settings.one("delete-after")), stops=stops)
