"""Statements on chained logs with branches: what counts in the log's own table, the rest aside."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import Connection, Table, delete, insert, select

from asfound.calc.branches import branches
from asfound.errors import IntegrityError
from asfound.model.bundle import Book, Fork
from asfound.model.journal import Entry, chain_fault
from asfound.ports.backends.store_lines import line_of
from asfound.ports.backends.store_tables import (
    ASIDE,
    DRIVES,
    ENTRIES,
    LINES,
    REQUESTS,
    entry_row,
    line_row,
    row_entry,
)

TABLES = {
    Book.VISIT: (ENTRIES, "visit"),
    Book.REQUEST: (REQUESTS, "log"),
    Book.DRIVE: (DRIVES, "log"),
}
"""Where the entries of a book are that count, and the column that names the log."""


def merge_log(
    connection: Connection, book: Book, log: str, given: Sequence[Entry]
) -> tuple[int, Fork | None]:
    """Take entries of one log in: how many were unknown, and the branches that are aside now.
    Raises IntegrityError when what is stored was altered."""
    stored = log_entries(connection, book, log)
    aside = set_aside(connection, book, log)
    known = {entry.hash for entry in (*stored, *aside)}
    fresh = [entry for entry in given if entry.hash not in known]
    if not fresh:
        return 0, Fork(book, log, len(aside)) if aside else None
    fault = chain_fault(stored)
    try:
        main, *_ = branches((*stored, *aside, *fresh))
    except ValueError as error:
        fault = fault or str(error)
    if fault is not None:
        raise IntegrityError(
            f"{book} {log}, as stored here: {fault}; bring the database back from a copy"
        )
    counts = {entry.hash for entry in main}
    left = [entry for entry in (*stored, *aside, *fresh) if entry.hash not in counts]
    _write_main(connection, book, log, stored, main)
    _write_aside(connection, book, log, left)
    return len(fresh), Fork(book, log, len(left)) if left else None


def log_entries(connection: Connection, book: Book, log: str) -> Sequence[Entry]:
    """The entries of a log that count, in order. Raises IntegrityError."""
    table, name = TABLES[book]
    mine = select(*_entry_columns(table, name)).where(table.c[name] == log).order_by(table.c.seq)
    return [row_entry(row) for row in connection.execute(mine).mappings()]


def set_aside(
    connection: Connection, book: Book | None = None, log: str | None = None
) -> Sequence[Entry]:
    """Entries that do not count, of one log or of all. Raises IntegrityError."""
    wanted = select(*_entry_columns(ASIDE, "log"))
    if book is not None:
        wanted = wanted.where(ASIDE.c.book == str(book))
    if log is not None:
        wanted = wanted.where(ASIDE.c.log == log)
    ordered = wanted.order_by(ASIDE.c.book, ASIDE.c.log, ASIDE.c.seq, ASIDE.c.hash)
    return [row_entry(row) for row in connection.execute(ordered).mappings()]


def _entry_columns(table: Table, name: str) -> list[Any]:
    others = (column for column in table.c if column.name not in (name, "book"))
    return [table.c[name].label("visit"), *others]


def _write_main(
    connection: Connection, book: Book, log: str, stored: Sequence[Entry], main: Sequence[Entry]
) -> None:
    table, name = TABLES[book]
    same = 0
    for old, new in zip(stored, main, strict=False):
        if old.hash != new.hash:
            break
        same += 1
    if len(stored) > same:
        connection.execute(delete(table).where(table.c[name] == log, table.c.seq >= same))
    rows = [_row(entry, name) for entry in main[same:]]
    if rows:
        connection.execute(insert(table), rows)
    if book is Book.VISIT and (rows or len(stored) > same):
        connection.execute(delete(LINES).where(LINES.c.visit == log))
        line = line_of(connection, log)
        if line is not None:
            connection.execute(insert(LINES).values(line_row(line)))


def _write_aside(connection: Connection, book: Book, log: str, left: Sequence[Entry]) -> None:
    connection.execute(delete(ASIDE).where(ASIDE.c.book == str(book), ASIDE.c.log == log))
    if left:
        rows = [{"book": str(book), **_row(entry, "log")} for entry in left]
        connection.execute(insert(ASIDE), rows)


def _row(entry: Entry, name: str) -> dict[str, Any]:
    row = entry_row(entry)
    row[name] = row.pop("visit")
    return row
