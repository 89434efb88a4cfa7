"""Which columns of a CSV are time and acceleration, and in what units, as far as it is certain."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from asfound.calc.plain_text import plain
from asfound.errors import InputError, UsageError
from asfound.jobs.csv_rows import column_numbers

PURPOSES = ("time", "x", "y", "z")
TIMES = ("time", "timestamp", "t", "utc", "datetime", "seconds")
AXES = ("", "a", "acc", "accel", "acceleration", "accelerometer")
"""Usual names (common practice): x, ax, acc_x, x_acc, accelerationx …"""
TIME_UNITS = {"s": 1.0, "ms": 1e-3, "us": 1e-6, "ns": 1e-9}
UNITS = {"g": "g", "mg": "mg", "m/s2": "m/s2", "m/s^2": "m/s2", "m/s²": "m/s2", "mps2": "m/s2",
         "ms2": "m/s2", "ms-2": "m/s2"}  # fmt: skip
NAME = re.compile(
    r"(.*?)[\s_]*[\[(]?\s*(?<![a-z])(g|mg|m/s2|m/s\^2|m/s²|mps2|ms2|ms-2|s|ms|us|ns)\s*[\])]?"
)
LEAST_HZ = 5.0
MOST_HZ = {"s": 20_000.0, "ms": 500.0, "us": 500.0, "ns": 500.0}
"""Samples a second of an acceleration log: a step that fits in one of these units fits in no other.
A count of 1 may be a millisecond, or a second of some other log: that is asked."""


@dataclass(frozen=True, slots=True)
class Head:
    """A log's first rows: separator, lines before the figures, places of time, x, y, z, the cells
    of its line of names ([] for none), and the rows of figures."""

    name: str
    separator: str
    skip: int
    places: tuple[int, ...]
    names: Sequence[str]
    rows: Sequence[Sequence[str]]


@dataclass(frozen=True, slots=True)
class Columns:
    """How each line is read. ``time_unit``: of TIME_UNITS, or "iso"; ``unit``: as the names say it,
    else ""."""

    separator: str
    skip: int
    places: tuple[int, ...]
    time_unit: str
    unit: str


@dataclass(frozen=True, slots=True)
class FirstRows:
    """A log's first rows, numbered from 1, as ``separator`` parts them."""

    name: str
    separator: str
    rows: Sequence[tuple[int, Sequence[str]]]


def head_of(begin: FirstRows, said: Mapping[str, str]) -> Head:
    """The columns, by what was ``said``, by usual names, or where four columns of figures leave no
    doubt. Raises UsageError, and InputError for a log without samples."""
    name, rows = begin.name, begin.rows
    first = rows[0][1]
    wanted = _wanted(first) | dict(said)
    bare = _figures(first)
    if bare and not said and len(first) == len(PURPOSES):
        wanted = {purpose: str(place) for place, purpose in enumerate(PURPOSES, 1)}
    places, named = _places(wanted, first, name, bare)
    missing = [purpose for purpose in PURPOSES if purpose not in places]
    if missing:
        known = ", ".join(plain(cell.strip())[:30] for cell in first[:20])
        raise UsageError(
            f"{plain(name)}: which column is {', '.join(missing)}? Its first line says {known}: "
            "say map time=NAME,x=NAME,y=NAME,z=NAME, or numbers from 1"
        )
    ordered = tuple(places[purpose] for purpose in PURPOSES)
    figures = [cells for _, cells in (rows[1:] if named else rows)]
    if not figures:
        raise InputError(f"{plain(name)}: has names of columns, but no samples")
    skip = rows[0][0] if named else rows[0][0] - 1
    return Head(name, begin.separator, skip, ordered, first if named else [], figures)


def _places(
    wanted: Mapping[str, str], first: Sequence[str], name: str, bare: bool
) -> tuple[Mapping[str, int], bool]:
    """Places of columns, and whether the first line has their names. In a line of figures alone a
    number is a place, though a cell may read the same."""
    if bare and all(text.isascii() and text.isdecimal() for text in wanted.values()):
        places = {purpose: int(text) - 1 for purpose, text in wanted.items()}
        if all(0 <= place < len(first) for place in places.values()):
            return places, False
    return column_numbers(wanted, first, name)


def columns_of(head: Head, time_unit: str, comma: bool) -> Columns:
    """Columns with units. Raises UsageError where the unit of time is in doubt."""
    units = {_parted(head.names[place])[1] for place in head.places[1:]} if head.names else {""}
    unit = UNITS.get(units.pop(), "") if len(units) == 1 else ""
    told = _parted(head.names[head.places[0]])[1] if head.names else ""
    made = time_unit or (told if told in TIME_UNITS else "") or _time_unit(head, comma)
    return Columns(head.separator, head.skip, head.places, made, unit)


def _time_unit(head: Head, comma: bool) -> str:
    texts = [row[head.places[0]].strip() for row in head.rows if len(row) > head.places[0]]
    figures = [_figure(text, comma) for text in texts]
    fine = np.array([each for each in figures if each is not None])
    if len(fine) < len(texts) / 2 or len(fine) < 3:
        if any(re.match(r"\d{4}-\d\d-\d\d", text) for text in texts):
            return "iso"
        shown = plain(next((text for text in texts if text), "nothing"))[:40]
        raise UsageError(
            f"{plain(head.name)}: {shown!r} is no time that is known; times are figures or ISO "
            "8601 (2026-11-26T08:00:00Z): name another column, map time=NAME"
        )
    steps = np.diff(fine)
    step = float(np.median(steps))
    if step <= 0:
        # Samples share stamps: the mean step counts.
        step = float(fine.max() - fine.min()) / len(steps)
    fits = [
        unit
        for unit, size in TIME_UNITS.items()
        if step > 0 and LEAST_HZ <= 1 / (step * size) <= MOST_HZ[unit]
    ]
    if len(fits) == 1:
        return fits[0]
    raise UsageError(f"{plain(head.name)}: is its time in s, ms, us or ns? Say map time-unit=ms")


def _wanted(first: Sequence[str]) -> dict[str, str]:
    names = {cell: _parted(cell)[0] for cell in first}
    made: dict[str, str] = {}
    for cell, name in names.items():
        if name in TIMES and "time" not in made:
            made["time"] = cell
        for axis in "xyz":
            usual = {f"{word}{axis}" for word in AXES} | {f"{axis}{word}" for word in AXES}
            if name.replace("_", "").replace(" ", "").replace("-", "") in usual:
                made.setdefault(axis, cell)
    return made


def _parted(cell: str) -> tuple[str, str]:
    """Name and unit of "acc_x [g]", "time_ms", "x (m/s²)"; unit "" for none."""
    text = cell.strip().casefold()
    found = NAME.fullmatch(text)
    return (found[1].strip(), found[2]) if found and found[1].strip() else (text, "")


def _figures(cells: Sequence[str]) -> bool:
    return all(_figure(cell, comma=True) is not None for cell in cells)


def _figure(text: str, comma: bool) -> float | None:
    try:
        return float(text.strip().replace(",", ".") if comma else text)
    except ValueError:
        return None
