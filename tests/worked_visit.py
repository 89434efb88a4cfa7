"""A visit of the demonstration's bus, brought far without photographs (tests only)."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from asfound.cli.home import Home, home_at
from asfound.demo import scenario
from asfound.jobs.visit_act import TickStep, tick
from asfound.jobs.visit_open import OpenVisit, open_visit
from asfound.jobs.visit_record import RecordReading, record_as_found, record_as_left
from asfound.jobs.visit_work import VisitPlan, visit_compare, visit_plan
from asfound.model.menu_map import MenuMap
from asfound.model.reading import FieldReading, PhotoReading, Reading, State
from asfound.ports.backends.clock_system import SystemClock

BY = scenario.TECHNICIAN


def fleet_home(folder: Path) -> Home:
    """A home with the demonstration's fleet file."""
    (folder / "fleet.toml").write_bytes(scenario.FLEET_FILE.read_bytes())
    return home_at(folder)


def up_to_keys(home: Home) -> str:
    """A visit that was read, updated, reset and planned; returns its id."""
    fleet, desk = home.fleet(), home.desk()
    vehicle = fleet.vehicle(scenario.VEHICLE)
    menu_map = home.menu_map(vehicle.recorder.map_id)
    made = OpenVisit(
        vehicle, fleet.name, fleet.time_zone, home.procedure(scenario.PROCEDURE), menu_map, BY
    )
    visit = open_visit(made, store=desk.store, blobs=desk.blobs, clock=SystemClock()).id
    for step in ("locate", "power", "monitor"):
        tick(TickStep(visit, step, BY), desk=desk)
    firmware = vehicle.recorder.firmware
    found = reading(menu_map, scenario.as_found_screen(menu_map, firmware), firmware)
    record_as_found(RecordReading(visit, menu_map, found, BY), desk=desk)
    tick(TickStep(visit, "firmware", BY, "", scenario.FIRMWARE, menu_map), desk=desk)
    tick(TickStep(visit, "reset", BY), desk=desk)
    visit_plan(_plan(home, visit), desk=desk)
    return visit


def up_to_slips(home: Home) -> str:
    """The same, keyed in with the demonstration's slips, one doubt and one page missing, and
    compared; returns its id."""
    visit, desk = up_to_keys(home), home.desk()
    tick(TickStep(visit, "rekey", BY), desk=desk)
    state = home.visit(visit)
    menu_map = home.visit_map(state)
    assert state.target is not None
    screen = scenario.keyed_screen(menu_map, state.target.as_dict(), mended=False)
    away = menu_map.pages[-1]
    left = {
        field.id: screen[field.id]
        for page in menu_map.pages
        if page is not away
        for field in menu_map.page_fields(page, scenario.FIRMWARE)
    }
    doubt = next(name for name in ("office.server", "marking.plate") if name in left)
    made = reading(menu_map, left, scenario.FIRMWARE, doubt)
    record_as_left(RecordReading(visit, menu_map, made, BY), desk=desk)
    visit_compare(_plan(home, visit), desk=desk)
    return visit


def reading(
    menu_map: MenuMap, values: Mapping[str, str], firmware: str, doubt: str = ""
) -> Reading:
    """A reading of the pages whose fields are in ``values``; ``doubt`` is not sure."""
    photos: list[PhotoReading] = []
    fields: list[FieldReading] = []
    missing: list[str] = []
    for page in menu_map.pages:
        rows = menu_map.page_fields(page, firmware)
        if not any(row.id in values for row in rows):
            fields += [FieldReading(row.id, row.label, "", None, State.UNREAD) for row in rows]
            missing.append(page.id)
            continue
        made = [
            FieldReading(row.id, row.label, "?", None, State.DOUBT, (values[row.id], "x"))
            if row.id == doubt
            else FieldReading(row.id, row.label, values[row.id], values[row.id], State.SURE)
            for row in rows
        ]
        fields += made
        photos.append(PhotoReading(f"{page.id}.jpg", "", page.id, 0.1, tuple(made)))
    return Reading(menu_map.id, firmware, tuple(photos), tuple(fields), tuple(missing))


def _plan(home: Home, visit: str) -> VisitPlan:
    state = home.visit(visit)
    fleet, menu_map = home.fleet(), home.visit_map(state)
    return VisitPlan(visit, menu_map, fleet.standard(menu_map.id), state.vehicle, BY)
