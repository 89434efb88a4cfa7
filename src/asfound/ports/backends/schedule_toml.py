"""Schedules: the hours in which a vehicle should record, as TOML (docs/coverage.md)."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path
from typing import Annotated, Literal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import BaseModel, ConfigDict, Field

from asfound.errors import InputError
from asfound.model.coverage import Hours, Schedule
from asfound.ports.backends.toml_checked import Faults, load_checked
from asfound.ports.backends.toml_lines import Place

CLOCK = re.compile(r"([01]\d|2[0-3]):([0-5]\d)|24:00")

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")

Day = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=False)


class HoursTable(_Strict):
    """One [[hours]] table."""

    days: Annotated[list[Day], Field(min_length=1)]
    start: Annotated[str, Field(alias="from")]
    end: Annotated[str, Field(alias="to")]


class ScheduleFile(_Strict):
    """The whole file."""

    format: Literal["asfound-schedule/1"]
    zone: str
    hours: Annotated[list[HoursTable], Field(min_length=1)]
    off: list[date] = []


def load_schedule(path: Path) -> Schedule:
    """The schedule in ``path``. Raises NotFound, StorageError, InputError (file:line: field)."""
    loaded = load_checked(path, ScheduleFile, InputError)
    file, faults = loaded.value, loaded.faults
    try:
        ZoneInfo(file.zone)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        text = f"{file.zone!r} is no time zone; write an IANA name such as Europe/Madrid"
        faults.add(("zone",), text)
    hours = tuple(
        Hours(
            tuple(sorted({DAYS.index(day) for day in table.days})),
            _minute(table.start, ("hours", at, "from"), faults),
            _minute(table.end, ("hours", at, "to"), faults),
        )
        for at, table in enumerate(file.hours)
    )
    for at, table in enumerate(file.hours):
        if table.start == "24:00":
            faults.add(("hours", at, "from"), "24:00 begins nothing; write 00:00 of the next day")
    faults.raise_if_any()
    return Schedule(file.zone, hours, tuple(sorted(file.off)))


def _minute(text: str, place: Place, faults: Faults) -> int:
    if CLOCK.fullmatch(text) is None:
        faults.add(place, f'{text!r} is no clock time; write hours and minutes, "05:30"')
        return 0
    return int(text[:2]) * 60 + int(text[3:])
