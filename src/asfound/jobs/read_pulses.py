"""A pulse log from CSV: times with pulses so far, or with their frequency."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, tzinfo

import numpy as np

from asfound.calc.fix_order import onward
from asfound.calc.log_values import TimeForm, log_time, number
from asfound.calc.plain_text import plain
from asfound.calc.wheel_pulses import Floats, count_of
from asfound.errors import InputError, UsageError
from asfound.jobs.csv_rows import column_numbers, csv_rows, split_lines
from asfound.jobs.gather_fixes import NAMED
from asfound.model.drive_log import LogFault

PURPOSES = ("time", "count", "hz")
USUAL = {
    "time": ("time", "timestamp", "utc", "t"),
    "count": ("count", "pulses"),
    "hz": ("hz", "frequency"),
}
MOST_ROWS = 5_000_000


@dataclass(frozen=True, slots=True)
class PulseForm:
    """How the CSV is to be read; as for tracks (jobs/read_track_csv.py)."""

    columns: Mapping[str, str] = field(default_factory=dict)
    times: TimeForm = TimeForm.ISO
    zone: tzinfo = UTC
    comma: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class PulseLog:
    """Pulses so far (n,) at ``times_s`` (n,) [s since 1970], and lines left out."""

    name: str
    times_s: Floats
    counts: Floats
    left_out: int
    faults: tuple[LogFault, ...]


def read_pulses(name: str, chunks: Iterable[bytes], form: PulseForm) -> PulseLog:
    """The log. Raises UsageError (columns), InputError (nothing to use)."""
    rows = csv_rows(split_lines(chunks), name)
    first = next(rows, None)
    if first is None:
        raise InputError(f"{plain(name)}: is empty; give CSV with times and pulses")
    names = {cell.strip().casefold() for cell in first[1]}
    usual = {
        purpose: next((each for each in USUAL[purpose] if each in names), "")
        for purpose in PURPOSES
    }
    said = usual | dict(form.columns)
    places, headed = column_numbers(
        {key: each for key, each in said.items() if each}, first[1], name
    )
    which = "count" if "count" in places else "hz"
    if "time" not in places or which not in places:
        raise UsageError(
            f"{plain(name)}: name the columns: time=NAME and count=NAME (pulses so far) or hz=NAME"
        )
    times: list[float] = []
    values: list[float] = []
    faults: list[LogFault] = []
    left_out = 0
    for line, cells in rows if headed else _again(first, rows):
        try:
            at = log_time(cells[places["time"]], form.times, form.zone, form.comma)
            value = number(cells[places[which]], form.comma)
            if not value >= 0:
                raise ValueError("no pulses stand in it")
        except (ValueError, IndexError) as error:
            left_out += 1
            if left_out <= NAMED:
                what = "is cut off" if isinstance(error, IndexError) else str(error)
                faults.append(LogFault(f"{plain(name)}:{line}", plain(what)))
            continue
        if len(times) >= MOST_ROWS:
            raise InputError(f"{plain(name)}: more than {MOST_ROWS} lines; cut it by days")
        times.append(at)
        values.append(value)
    at_s, read = np.array(times), np.array(values)
    kept = onward(at_s)
    left_out += int((~kept).sum())
    at_s, read = at_s[kept], read[kept]
    if len(at_s) < 2:
        raise InputError(
            f"{plain(name)}: fewer than two lines can be used; check columns and times"
        )
    counts = read if which == "count" else count_of(at_s, read)
    return PulseLog(name, at_s, counts, left_out, tuple(faults))


def _again(
    first: tuple[int, list[str]], rows: Iterable[tuple[int, list[str]]]
) -> Iterable[tuple[int, list[str]]]:
    yield first
    yield from rows
