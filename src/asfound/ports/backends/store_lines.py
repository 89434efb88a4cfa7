"""Statements on the table of visits' lines: kept with each entry, and asked by lists."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from sqlalchemy import BindParameter, Connection, bindparam, delete, func, insert, select

from asfound.errors import IntegrityError
from asfound.model.journal import Entry
from asfound.model.visit_line import LINE_KINDS, LineQuery, VisitLine, line_after
from asfound.ports.backends.store_tables import (
    ENTRIES,
    LINES,
    line_row,
    row_entry,
    row_line,
)

BATCH = 500
"""Lines written in one statement."""


def keep_line(connection: Connection, entry: Entry) -> None:
    """Bring the visit's line up to ``entry``, within the transaction that stores it."""
    stored = (
        connection.execute(select(LINES).where(LINES.c.visit == entry.visit)).mappings().first()
    )
    try:
        before = row_line(stored) if stored else None
    except IntegrityError:
        # A damaged line keeps nobody from writing: the journal says what it should be.
        before = line_of(connection, entry.visit, entry.seq)
    made = line_after(before, entry)
    if made is None:
        return
    connection.execute(delete(LINES).where(LINES.c.visit == entry.visit))
    connection.execute(insert(LINES).values(line_row(made)))


def line_of(connection: Connection, visit: str, before: int | None = None) -> VisitLine | None:
    """A visit's line made anew from its journal, of the entries below number ``before``; None
    when there is no opening that reads as one."""
    mine = select(ENTRIES).where(ENTRIES.c.visit == visit)
    if before is not None:
        mine = mine.where(ENTRIES.c.seq < before)
    line: VisitLine | None = None
    telling = mine.where(ENTRIES.c.kind.in_(LINE_KINDS)).order_by(ENTRIES.c.seq)
    for row in connection.execute(telling).mappings():
        try:
            line = line_after(line, row_entry(row))
        except IntegrityError:
            # Whoever opens the visit is told; the list shows what can be read.
            continue
    newest = mine.with_only_columns(ENTRIES.c.seq, ENTRIES.c.hash, ENTRIES.c.at)
    last = connection.execute(newest.order_by(ENTRIES.c.seq.desc()).limit(1)).first()
    if line is None or last is None:
        return line
    try:
        at = datetime.fromisoformat(last.at)
    except ValueError:
        at = line.opened_at
    return replace(line, entries=last.seq + 1, head=last.hash, last_at=at)


def fill_lines(connection: Connection) -> None:
    """A line for every visit there is; for a table that was just made."""
    visits = connection.scalars(select(ENTRIES.c.visit).where(ENTRIES.c.seq == 0)).all()
    for start in range(0, len(visits), BATCH):
        made = [line_of(connection, visit) for visit in visits[start : start + BATCH]]
        rows = [line_row(line) for line in made if line is not None]
        if rows:
            connection.execute(insert(LINES), rows)


def lines(connection: Connection, wanted: LineQuery) -> Sequence[VisitLine]:
    """The wanted lines, newest first."""
    asked = select(LINES).order_by(LINES.c.opened_at.desc(), LINES.c.visit.desc())
    if wanted.vehicles is not None:
        asked = asked.where(LINES.c.vehicle.in_(wanted.vehicles))
    if wanted.closed is not None:
        asked = asked.where(LINES.c.closed == int(wanted.closed))
    if wanted.limit is not None:
        asked = asked.limit(wanted.limit)
    if wanted.skip:
        asked = asked.offset(wanted.skip)
    return [row_line(row) for row in connection.execute(asked).mappings()]


def closed_entries(connection: Connection, kind: str) -> Sequence[Entry]:
    """The entries of one kind of all closed visits, by visit and in order."""
    closed = ENTRIES.join(LINES, ENTRIES.c.visit == LINES.c.visit)
    # Written into the statement: an index of one kind serves no kind that is not known to it.
    wanted: BindParameter[str] = bindparam("kind", kind, literal_execute=True)
    asked = (
        select(ENTRIES)
        .select_from(closed)
        .where(LINES.c.closed == 1, ENTRIES.c.kind == wanted)
        .order_by(ENTRIES.c.visit, ENTRIES.c.seq)
    )
    return [row_entry(row) for row in connection.execute(asked).mappings()]


def line_heads(connection: Connection) -> Mapping[str, str]:
    """The last hash of every visit that has a line."""
    asked = connection.execute(select(LINES.c.visit, LINES.c.head))
    return {str(visit): str(head) for visit, head in asked}


def line_stamp(connection: Connection) -> str:
    """All last hashes in one text: a journal that grew has another, and so has one of which
    another branch counts now. A row for each takes several times as long."""
    return connection.scalar(select(func.aggregate_strings(LINES.c.head, ""))) or ""


def heads(connection: Connection, visits: Sequence[str]) -> Mapping[str, tuple[int, str]]:
    """Number of entries and last hash of each of these visits that exists."""
    newest = (
        select(ENTRIES.c.visit, func.max(ENTRIES.c.seq).label("seq"))
        .where(ENTRIES.c.visit.in_(visits))
        .group_by(ENTRIES.c.visit)
        .subquery()
    )
    asked = select(ENTRIES.c.visit, ENTRIES.c.seq, ENTRIES.c.hash).join(
        newest, (ENTRIES.c.visit == newest.c.visit) & (ENTRIES.c.seq == newest.c.seq)
    )
    return {row.visit: (row.seq + 1, row.hash) for row in connection.execute(asked)}
