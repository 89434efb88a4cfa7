"""Acceleration from CSV by a map of its columns, in blocks: a month of it never lies in memory."""

from __future__ import annotations

from codecs import BOM_UTF8
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, tzinfo
from itertools import islice

import numpy as np

from asfound.calc.log_order import Floats, Ordered
from asfound.calc.log_values import TimeForm, log_time
from asfound.calc.plain_text import plain
from asfound.errors import InputError
from asfound.jobs.acceleration_columns import TIME_UNITS, Columns, FirstRows, columns_of, head_of
from asfound.jobs.csv_rows import LOOK_AT, csv_rows, separator_of, split_lines
from asfound.model.drive_log import Acceleration, LogFault

BLOCK_ROWS = 1 << 16
FIRST_LINES = 500
NAMED = 10
"""Faults that are named by their line; the rest is counted."""

Chunks = Callable[[], Iterable[bytes]]
"""The log's bytes from its beginning, each time it is asked."""


@dataclass(frozen=True, slots=True)
class AccelerationForm:
    """How a CSV is to be read. ``columns``: time, x, y, z -> name or number from 1, where the usual
    names are not meant; ``time_unit``: one of TIME_UNITS, "iso", or "" to be found; ``unit``: g,
    mg, m/s2, or counts a g ("16384/g"), or "" to be found; ``zone``: of dates and times without
    offset; ``comma``: the decimal sign is a comma."""

    columns: Mapping[str, str] = field(default_factory=dict)
    time_unit: str = ""
    unit: str = ""
    zone: tzinfo = UTC
    comma: bool = False


@dataclass
class Faults:
    """Lines that were left out: how many, and the first of them."""

    count: int = 0
    named: list[LogFault] = field(default_factory=list)

    def add(self, where: str, what: str) -> None:
        """One more."""
        self.count += 1
        if self.count <= NAMED:
            self.named.append(LogFault(where, plain(what)))


@dataclass(frozen=True, slots=True, eq=False)
class AccelerationLog:
    """A log that can be read from its beginning again and again. Figures are as they stand in it:
    ``unit`` says what they are, "" for nothing said."""

    name: str
    chunks: Chunks
    columns: Columns
    form: AccelerationForm

    @property
    def unit(self) -> str:
        """Of the form, else of the columns' names."""
        return self.form.unit or self.columns.unit

    def blocks(self, faults: Faults | None = None) -> Iterator[Acceleration]:
        """Times rise; figures in the log's own unit. Faults are added to ``faults``.

        Raises InputError for bytes that are no text.
        """
        into = faults or Faults()
        order = Ordered()
        for times, xyz in self._rows(into):
            rising, figures = order.feed(times, xyz)
            if len(rising):
                yield Acceleration(rising, figures)
        rising, figures = order.rest()
        if len(rising):
            yield Acceleration(rising, figures)
        name = plain(self.name)
        for number, what in (
            (order.left_out.back, "samples whose time goes back or jumps ahead"),
            (order.left_out.repeated, "samples that repeat the one before"),
        ):
            if number:
                into.count += number
                into.named.append(LogFault(name, f"{number} {what}"))

    def _rows(self, faults: Faults) -> Iterator[tuple[Floats, Floats]]:
        lines = split_lines(self.chunks())
        number = 1
        for _ in range(self.columns.skip):
            next(lines, None)
            number += 1
        while block := list(islice(lines, BLOCK_ROWS)):
            rows = None if self.columns.time_unit == "iso" else self._fast(block)
            if rows is None:
                rows = self._slow(block, number, faults)
            if len(rows):
                scale = TIME_UNITS.get(self.columns.time_unit, 1.0)
                yield rows[:, 0] * scale, rows[:, 1:]
            number += len(block)

    def _fast(self, block: Sequence[bytes]) -> Floats | None:
        """Rows (n, 4) of a block without a fault; None for any other."""
        text = [line.replace(b",", b".") for line in block] if self.form.comma else block
        try:
            rows = np.loadtxt(
                text,
                delimiter=self.columns.separator,
                usecols=self.columns.places,
                comments="#",
                ndmin=2,
                quotechar='"',
                encoding="utf-8",
            )
        except (ValueError, UnicodeError):
            return None
        blank = len(rows) != len(block)
        return None if blank or not np.isfinite(rows).all() else rows

    def _slow(self, block: Sequence[bytes], first: int, faults: Faults) -> Floats:
        made = []
        for at, cells in csv_rows(block, self.name, self.columns.separator):
            try:
                made.append(self._row(cells))
            except ValueError as error:
                faults.add(f"{plain(self.name)}:{first + at - 1}", str(error))
        return np.array(made, np.float64).reshape(-1, 4)

    def _row(self, cells: Sequence[str]) -> tuple[float, ...]:
        if max(self.columns.places) >= len(cells):
            raise ValueError(
                f"{len(cells)} columns where {max(self.columns.places) + 1} are needed"
            )
        time, *rest = (cells[place] for place in self.columns.places)
        if self.columns.time_unit == "iso":
            at = log_time(time, TimeForm.ISO, self.form.zone)
        else:
            at = self._figure(time)
        return at, *(self._figure(each) for each in rest)

    def _figure(self, text: str) -> float:
        written = text.strip().replace(",", ".") if self.form.comma else text.strip()
        try:
            made = float(written)
        except ValueError:
            raise ValueError(f"{text[:40]!r} is no figure") from None
        if not np.isfinite(made) or "_" in written:
            raise ValueError(f"{text[:40]!r} is no figure")
        return made


def open_acceleration(name: str, chunks: Chunks, form: AccelerationForm) -> AccelerationLog:
    """The log, once its columns are clear.

    Raises InputError (empty, no text, nothing in it can be used) and UsageError (columns or units
    have to be said).
    """
    lines = list(islice(split_lines(chunks()), FIRST_LINES))
    shown = [line.removeprefix(BOM_UTF8).decode("utf-8", "replace") for line in lines]
    separator = separator_of([line for line in shown if line.strip() and line[0] != "#"][:LOOK_AT])
    rows = list(csv_rows(lines, name, separator))
    if not rows:
        raise InputError(f"{plain(name)}: is empty; give a CSV of times and accelerations")
    head = head_of(FirstRows(name, separator, rows), form.columns)
    return AccelerationLog(name, chunks, columns_of(head, form.time_unit, form.comma), form)
