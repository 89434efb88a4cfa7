"""Ignition logs as CSV (docs/coverage.md): when a vehicle drove. Never a silent guess."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from asfound.calc.plain_text import plain
from asfound.errors import InputError, NotFound
from asfound.model.coverage import IgnitionLog, Period
from asfound.ports.backends.text_file import TextKind, read_text_file

MAX_BYTES = 64 * 1024 * 1024
"""A year with 1,000 lines a day takes about 15 MB."""

STAMP = re.compile(r"\d{4}-\d\d-\d\d[Tt ]\d\d:\d\d:\d\d(\.\d+)?([Zz]|[+-]\d\d:\d\d)")
"""RFC 3339, section 5.6 (2002): date, time and offset; nothing may be left out."""

STATES = {"on": True, "1": True, "true": True, "off": False, "0": False, "false": False}

_MOST_FAULTS = 20


@dataclass(frozen=True, slots=True)
class _Row:
    line: int
    cells: Mapping[str, str]


def load_ignition(path: Path, vehicle: str = "", among: Sequence[str] = ()) -> IgnitionLog:
    """When ``vehicle`` drove. Raises NotFound, StorageError, InputError (file:line: column).

    ``vehicle`` may be "" when the log has no such column, or names one vehicle only; ``among``
    are then the names that one must have.
    """
    columns, rows = _table(path)
    if not vehicle and among and "vehicle" in columns:
        vehicle = _one_of(path, rows, among)
    rows = _of_vehicle(path, columns, rows, vehicle)
    if {"on", "off"} <= columns:
        log = _from_pairs(path, rows)
    elif {"time", "ignition"} <= columns:
        log = _from_changes(path, rows)
    else:
        raise InputError(
            f"{path}:1: columns: neither on and off nor time and ignition stand in the first "
            "line; docs/coverage.md shows both"
        )
    if not log.driven:
        raise InputError(f"{path}: says of no time that the vehicle drove; take another log")
    return log


def _table(path: Path) -> tuple[frozenset[str], list[_Row]]:
    text = read_text_file(path, TextKind("CSV", MAX_BYTES, "cut it by months", InputError))
    head = text.partition("\n")[0]
    # Spreadsheets write semicolons or tabs where the comma is the decimal sign.
    delimiter = max(",;\t", key=head.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    names: list[str] = []
    rows: list[_Row] = []
    try:
        for cells in reader:
            if not any(cell.strip() for cell in cells):
                continue
            if not names:
                names = [cell.strip().casefold() for cell in cells]
                _check_names(path, names)
                continue
            if len(cells) > len(names):
                raise InputError(
                    f"{path}:{reader.line_num}: {len(cells)} cells under {len(names)} columns; "
                    "put cells with a separator in them in quotes"
                )
            values = [cell.strip() for cell in cells] + [""] * (len(names) - len(cells))
            rows.append(_Row(reader.line_num, dict(zip(names, values, strict=True))))
    except csv.Error as error:
        raise InputError(f"{path}:{reader.line_num}: no CSV ({error}); mend this line") from None
    if not names:
        raise InputError(f"{path}: is empty; docs/coverage.md shows what stands in it")
    return frozenset(names), rows


def _check_names(path: Path, names: Sequence[str]) -> None:
    twice = sorted({name for name in names if name and names.count(name) > 1})
    if twice:
        raise InputError(f"{path}:1: columns: {plain(twice[0])} stands there twice; rename one")


def _of_vehicle(path: Path, columns: frozenset[str], rows: list[_Row], vehicle: str) -> list[_Row]:
    if "vehicle" not in columns:
        if vehicle:
            raise InputError(f"{path}:1: columns: has no vehicle column; leave out --vehicle")
        return rows
    names = sorted({row.cells["vehicle"] for row in rows})
    if not vehicle and len(names) > 1:
        few = ", ".join(plain(name) or "(empty)" for name in names[:5])
        raise InputError(f"{path}: tells of {len(names)} vehicles ({few}, ...); give --vehicle")
    if vehicle and vehicle not in names:
        raise NotFound(f"{path}: vehicle {vehicle} does not stand in it; check --vehicle")
    return [row for row in rows if not vehicle or row.cells["vehicle"] == vehicle]


def _one_of(path: Path, rows: Sequence[_Row], among: Sequence[str]) -> str:
    """The only name in the log that is one of ``among``, spaces and case aside."""
    wanted = {name.replace(" ", "").casefold() for name in among}
    names = {row.cells["vehicle"] for row in rows}
    own = sorted(name for name in names if name.replace(" ", "").casefold() in wanted)
    if len(own) != 1:
        called = " or ".join(plain(name) for name in among)
        many = "does not stand in it by that name" if not own else "stands there by several names"
        raise NotFound(f"{path}: vehicle {called} {many}; give --vehicle as the log has it")
    return own[0]


def _from_pairs(path: Path, rows: Sequence[_Row]) -> IgnitionLog:
    faults: list[str] = []
    driven, notes = [], []
    for row in rows:
        on = _time(path, row, "on", faults)
        if not row.cells["off"] and row.cells["on"]:
            notes.append(
                f"{path.name}:{row.line}: no time of switching off: this drive is left out"
            )
            continue
        off = _time(path, row, "off", faults)
        if on is None or off is None:
            continue
        if off < on:
            faults.append(f"{path}:{row.line}: off: lies before on; swap or mend them")
        else:
            driven.append(Period(on, off))
    _raise_if_any(path, faults)
    return IgnitionLog(tuple(driven), tuple(notes))


def _from_changes(path: Path, rows: Sequence[_Row]) -> IgnitionLog:
    faults: list[str] = []
    states = list(_states(path, rows, faults))
    _raise_if_any(path, faults)
    # Several reports of one second keep their order in the file.
    states.sort(key=lambda state: state[0])
    driven: list[Period] = []
    notes: list[str] = []
    since: datetime | None = None
    for at, on in states:
        if on and since is None:
            since = at
        elif not on and since is not None:
            driven.append(Period(since, at))
            since = None
    if states and not states[0][1]:
        first = states[0][0].isoformat().replace("+00:00", "Z")
        notes.append(f"{path.name}: begins with off at {first}: any drive before it is left out")
    if since is not None:
        last = states[-1][0]
        driven.append(Period(since, last))
        notes.append(
            f"{path.name}: ends with the ignition on: only counted up to its last line, "
            f"{last.isoformat().replace('+00:00', 'Z')}"
        )
    return IgnitionLog(tuple(driven), tuple(notes))


def _states(path: Path, rows: Sequence[_Row], faults: list[str]) -> Iterator[tuple[datetime, bool]]:
    for row in rows:
        at = _time(path, row, "time", faults)
        on = STATES.get(row.cells["ignition"].casefold())
        if on is None:
            seen = plain(row.cells["ignition"])[:40]
            faults.append(f"{path}:{row.line}: ignition: {seen!r} is neither on nor off")
        if at is not None and on is not None:
            yield at, on


def _time(path: Path, row: _Row, column: str, faults: list[str]) -> datetime | None:
    text = row.cells[column]
    if STAMP.fullmatch(text):
        try:
            return datetime.fromisoformat(text.upper()).astimezone(UTC)
        except (ValueError, OverflowError):
            pass  # the 31st of a month of 30 days, hour 25, or beyond the calendar's end
    what = "is empty" if not text else f"{plain(text)[:40]!r} is no time with offset"
    faults.append(f"{path}:{row.line}: {column}: {what}; write it as 2026-03-01T08:00:00+01:00")
    return None


def _raise_if_any(path: Path, faults: Sequence[str]) -> None:
    if len(faults) == 1:
        raise InputError(faults[0])
    if faults:
        more = len(faults) - _MOST_FAULTS
        rest = [f"... and {more} more"] if more > 0 else []
        shown = [*faults[:_MOST_FAULTS], *rest]
        raise InputError("\n".join([f"{path}: {len(faults)} faults", *shown]))
