"""Which recorder it is: what the monitor shows beside what the fleet file says."""

from __future__ import annotations

from collections.abc import Mapping

from asfound.jobs.visit_fold import values_of
from asfound.model.menu_map import Meaning, MenuMap
from asfound.model.visit import VisitState


def other_than_listed(
    values: Mapping[str, str], listed: Mapping[Meaning, str], menu_map: MenuMap, firmware: str
) -> tuple[tuple[Meaning, str, str], ...]:
    """(meaning, what the monitor shows, what is listed) where the two differ. ``values`` are
    certain ones, by field id."""
    found = []
    for field in menu_map.fields_in(firmware):
        shown = values.get(field.id)
        known = listed.get(field.means) if field.means is not None else None
        if shown is None or known is None or field.means is None:
            continue
        if shown.strip() != known.strip():
            found.append((field.means, shown.strip(), known.strip()))
    return tuple(found)


def serial_text(state: VisitState, menu_map: MenuMap) -> str:
    """The recorder's serial number; both, when the monitor showed another than the fleet file
    has: the report must not settle which of the two is right."""
    listed = state.vehicle.recorder.serial
    readings = [(state.as_found, state.settled)]
    readings += [(item.reading, item.settled) for item in state.rounds]
    shown: list[str] = []
    for reading, settled in readings:
        if reading is None:
            continue
        values = values_of(reading, settled)
        for _, other, _ in other_than_listed(
            values, {"serial": listed}, menu_map, reading.firmware
        ):
            if other not in shown:
                shown.append(other)
    if not shown:
        return listed
    return f"fleet file {listed or 'none'}, on the monitor {' and '.join(shown)}"
