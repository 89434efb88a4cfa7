"""Statements on the table of logs of drives."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import Connection, insert, select

from asfound.errors import IntegrityError
from asfound.model.journal import GENESIS, Entry, unaltered
from asfound.ports.backends.store_tables import DRIVES, entry_row, row_entry


def append_drive(connection: Connection, entry: Entry) -> None:
    """Add the entry, within the caller's transaction. Raises IntegrityError."""
    if not unaltered(entry):
        raise IntegrityError(f"drive log {entry.visit}: entry {entry.seq} has a wrong hash")
    mine = select(DRIVES.c.seq, DRIVES.c.hash).where(DRIVES.c.log == entry.visit)
    last = connection.execute(mine.order_by(DRIVES.c.seq.desc()).limit(1)).first()
    seq, previous = (last.seq + 1, last.hash) if last else (0, GENESIS)
    if (entry.seq, entry.previous) != (seq, previous):
        raise IntegrityError(
            f"drive log {entry.visit}: someone else wrote entry {seq - 1}; look at the drive and "
            "do it again"
        )
    row = entry_row(entry)
    row["log"] = row.pop("visit")
    connection.execute(insert(DRIVES).values(row))


def drive_entries(connection: Connection, log: str | None) -> Sequence[Entry]:
    """The entries of one log, or of all, log by log."""
    columns = (column for column in DRIVES.c if column.name != "log")
    wanted = select(DRIVES.c.log.label("visit"), *columns)
    if log is not None:
        wanted = wanted.where(DRIVES.c.log == log)
    rows = connection.execute(wanted.order_by(DRIVES.c.log, DRIVES.c.seq)).mappings()
    found: dict[str, list[Entry]] = {}
    for row in rows:
        found.setdefault(row["visit"], []).append(row_entry(row))
    # Databases sort text by rules of their own.
    return [entry for name in sorted(found) for entry in found[name]]
