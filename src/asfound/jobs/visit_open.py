"""Open a visit, and list the visits there are."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from asfound.calc.writer_tag import tagged
from asfound.errors import IntegrityError, UsageError
from asfound.jobs.visit_journal import RULELESS, Rules, load_visit, named
from asfound.model.firmware_choice import OpenedUnder
from asfound.model.fleet import Vehicle
from asfound.model.journal import next_entry
from asfound.model.menu_map import MenuMap
from asfound.model.procedure import Procedure
from asfound.model.visit import VisitState
from asfound.model.visit_line import VisitLine
from asfound.ports.blobs import Blobs
from asfound.ports.clock import Clock
from asfound.ports.documents import to_data, to_json
from asfound.ports.store import Store


@dataclass(frozen=True, slots=True)
class OpenVisit:
    """Open a visit of ``vehicle``; ``time_zone`` is the fleet's, for the date in the visit's id.

    ``firmware`` is what the recorder says it has; None: as last known in the fleet file.
    ``writer``: the home's tag for the visit's id (calc/writer_tag.py).
    """

    vehicle: Vehicle
    fleet: str
    time_zone: str
    procedure: Procedure
    menu_map: MenuMap
    by: str
    firmware: str | None = None
    writer: str = ""


def open_visit(
    request: OpenVisit, *, store: Store, blobs: Blobs, clock: Clock, rules: Rules = RULELESS
) -> VisitState:
    """Open the visit; its id is vehicle, date and a counter, e.g. ``217-261125-1``, and where the
    home has a key its tag: ``217-261125-1-k7f``.

    Vehicle, procedure and menu map are kept as they are now, and which firmware catalogue and
    rollouts there are by ``rules``. Raises UsageError (no name, a map
    of another recorder, unknown firmware), StorageError.
    """
    vehicle, menu_map = request.vehicle, request.menu_map
    if vehicle.recorder.map_id != menu_map.id:
        raise UsageError(
            f"vehicle {vehicle.number} has a {vehicle.recorder.map_id}, not a {menu_map.id}; "
            "use its own menu map"
        )
    firmware = request.firmware or vehicle.recorder.firmware
    if not menu_map.has_firmware(firmware):
        raise UsageError(
            f"menu map {menu_map.id} does not describe firmware {firmware!r}; it knows "
            f"{', '.join(menu_map.firmware)} (visit open --firmware VERSION)"
        )
    at = clock.now()
    data = {
        "fleet": request.fleet,
        "vehicle": to_data(vehicle),
        "procedure": to_data(request.procedure),
        "firmware": firmware,
        "map": blobs.put(to_json(menu_map).encode("utf-8")),
        "holds": [to_data(hold) for hold in store.holds(vehicle.number) if hold.active],
    }
    if (under := rules.under(menu_map.id)) != OpenedUnder():
        data["under"] = to_data(under)
    stem = f"{_spoken(vehicle.number)}-{at.astimezone(ZoneInfo(request.time_zone)):%y%m%d}"
    visit = _claim(stem, at, named(request.by), data, store, request.writer)
    return load_visit(visit, store=store, blobs=blobs, rules=rules)


def list_visits(*, store: Store) -> Sequence[VisitLine]:
    """All visits, newest first. Raises StorageError, IntegrityError."""
    return store.lines()


def _claim(
    stem: str, at: datetime, by: str, data: dict[str, object], store: Store, writer: str
) -> str:
    """Write the first entry under the next free number of the day."""
    number = 1
    while True:
        visit = tagged(stem, number, writer)
        if not store.entries(visit):
            try:
                store.append(next_entry((), visit, at, by, "opened", data))
            except IntegrityError:
                # Someone else took this number since we looked; any other fault comes again.
                if not store.entries(visit):
                    raise
            else:
                return visit
        number += 1


def _spoken(number: str) -> str:
    """A vehicle's number as letters and figures that can be said over a telephone."""
    return re.sub(r"[^a-z0-9]+", "", number.casefold()) or "vehicle"
