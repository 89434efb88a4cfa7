"""A visit of the demonstration's bus whose recordings can be looked at, and a short drive with
a stuck camera (tests only)."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from asfound.cli.home import Home
from asfound.demo import scenario
from asfound.demo.footage import Camera, Drive, Fault, film
from asfound.jobs.visit_act import OverrideGate, TickStep, override, tick
from asfound.jobs.visit_open import OpenVisit, open_visit
from asfound.jobs.visit_record import RecordReading, record_as_found
from asfound.model.reading import FieldReading, PhotoReading, Reading, State

BY = scenario.TECHNICIAN
SECONDS = 12.0


def ready_to_prove(home: Home) -> str:
    """A visit that was read, with the steps before its proof passed over; returns its id."""
    fleet, desk = home.fleet(), home.desk()
    vehicle = fleet.vehicle(scenario.VEHICLE)
    menu_map, firmware = home.menu_map(vehicle.recorder.map_id), vehicle.recorder.firmware
    procedure = home.procedure("inspection")
    request = OpenVisit(vehicle, fleet.name, fleet.time_zone, procedure, menu_map, BY)
    visit = open_visit(request, store=desk.store, blobs=desk.blobs, clock=desk.clock).id
    screen = scenario.as_found_screen(menu_map, firmware)
    fields: list[FieldReading] = []
    photos: list[PhotoReading] = []
    for page in menu_map.pages:
        rows = menu_map.page_fields(page, firmware)
        made = tuple(
            FieldReading(row.id, row.label, screen[row.id], screen[row.id], State.SURE)
            for row in rows
        )
        fields += made
        photos.append(PhotoReading(f"{page.id}.jpg", "", page.id, 0.1, made))
    for step in ("locate", "power", "monitor"):
        tick(TickStep(visit, step, BY), desk=desk)
    reading = Reading(menu_map.id, firmware, tuple(photos), tuple(fields), ())
    record_as_found(RecordReading(visit, menu_map, reading, BY), desk=desk)
    prove = next(item for item in procedure.steps if item.kind == "prove")
    for gate in prove.gates:
        override(OverrideGate(visit, prove.id, gate, BY, "only the proof is tested"), desk=desk)
    return visit


def short_drive(folder: Path, start: datetime, cameras: int = 3) -> None:
    """``cameras`` channels of 12 s in ``folder``; the second one's picture stands still."""
    film(
        Drive(
            41,
            start,
            SECONDS,
            tuple(
                Camera(
                    number,
                    f"CAMERA {number}",
                    width=320,
                    height=192,
                    faults=(Fault("frozen", 3.0),) if number == 2 else (),
                )
                for number in range(1, cameras + 1)
            ),
        ),
        folder,
    )
