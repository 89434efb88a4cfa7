"""A track from CSV, by a map of its columns."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, tzinfo
from math import nan

from asfound.calc.log_values import SPEED_UNITS, TimeForm, log_time, number
from asfound.errors import UsageError
from asfound.jobs.csv_rows import column_numbers, csv_rows
from asfound.jobs.gather_fixes import Fix, Gathered
from asfound.model.track_log import FixFault

PURPOSES = ("time", "lat", "lon", "speed", "course")
USUAL = {
    "time": ("time", "timestamp", "utc", "t"),
    "lat": ("lat", "latitude", "lat_deg"),
    "lon": ("lon", "lng", "longitude", "lon_deg"),
    "speed": ("speed",),
    "course": ("course", "heading"),
}
"""Names that need no map (common practice)."""


@dataclass(frozen=True, slots=True)
class CsvForm:
    """How a CSV is to be read. ``columns``: purpose -> name or number from 1, where the usual names
    are not meant; ``speed_unit`` one of SPEED_UNITS; ``zone``: of dates and times without offset;
    ``comma``: the decimal sign is a comma."""

    columns: Mapping[str, str] = field(default_factory=dict)
    speed_unit: str = "km/h"
    times: TimeForm = TimeForm.ISO
    zone: tzinfo = UTC
    comma: bool = False


def read_track_csv(lines: Iterable[bytes], into: Gathered, form: CsvForm) -> None:
    """Adds the fixes. Lines without position count when they have a speed.

    Raises UsageError when a column is not there, or neither positions nor speeds are.
    """
    rows = csv_rows(lines, into.name)
    first = next(rows, None)
    if first is None:
        return
    places, headed = column_numbers(wanted_columns(form.columns, first[1]), first[1], into.name)
    if "time" not in places:
        raise UsageError(f"{into.name}: name the column of times: time=NAME or time=NUMBER")
    if not ({"lat", "lon"} <= places.keys() or "speed" in places):
        raise UsageError(
            f"{into.name}: name the columns of positions (lat=NAME,lon=NAME), or of speed=NAME"
        )
    if not headed:
        _add(first, places, form, into)
    for row in rows:
        _add(row, places, form, into)


def wanted_columns(said: Mapping[str, str], head: Sequence[str]) -> dict[str, str]:
    """The columns named, and those of the usual names for what was not."""
    names = {cell.strip().casefold() for cell in head}
    usual = {
        purpose: next((name for name in USUAL[purpose] if name in names), "")
        for purpose in PURPOSES
    }
    return {purpose: name for purpose, name in (usual | dict(said)).items() if name}


def _add(
    row: tuple[int, list[str]], places: Mapping[str, int], form: CsvForm, into: Gathered
) -> None:
    line, cells = row
    try:
        text = {
            purpose: cells[place] if place < len(cells) else "" for purpose, place in places.items()
        }
        if not text["time"].strip():
            into.fault(FixFault.NO_TIME, line, "no time stands in it")
            return
        at = log_time(text["time"], form.times, form.zone, form.comma)
        lat, lon, speed, course = (
            number(text.get(purpose, ""), form.comma) for purpose in PURPOSES[1:]
        )
    except ValueError as error:
        into.fault(FixFault.BROKEN, line, str(error))
        return
    if (lat != lat or lon != lon) and speed != speed:
        into.fault(FixFault.NO_FIX, line, "neither position nor speed stands in it")
        return
    if lat != lat or lon != lon:
        lat = lon = nan
    into.add(Fix(at, lat, lon, speed * SPEED_UNITS[form.speed_unit], course), line)
