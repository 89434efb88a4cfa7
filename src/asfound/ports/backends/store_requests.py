"""Statements on the table of logs of requests and deletions."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import Connection, insert, select

from asfound.errors import IntegrityError
from asfound.model.journal import GENESIS, Entry, unaltered
from asfound.ports.backends.store_tables import REQUESTS, entry_row, row_entry


def append_request(connection: Connection, entry: Entry) -> None:
    """Add the entry, within the caller's transaction. Raises IntegrityError."""
    if not unaltered(entry):
        raise IntegrityError(f"log {entry.visit}: entry {entry.seq} has a wrong hash")
    mine = select(REQUESTS.c.seq, REQUESTS.c.hash).where(REQUESTS.c.log == entry.visit)
    last = connection.execute(mine.order_by(REQUESTS.c.seq.desc()).limit(1)).first()
    seq, previous = (last.seq + 1, last.hash) if last else (0, GENESIS)
    if (entry.seq, entry.previous) != (seq, previous):
        raise IntegrityError(
            f"log {entry.visit}: someone else wrote entry {seq - 1}; look at it and do it again"
        )
    row = entry_row(entry)
    row["log"] = row.pop("visit")
    connection.execute(insert(REQUESTS).values(row))


def request_entries(connection: Connection, log: str | None) -> Sequence[Entry]:
    """The entries of one log, or of all, log by log."""
    columns = (column for column in REQUESTS.c if column.name != "log")
    wanted = select(REQUESTS.c.log.label("visit"), *columns)
    if log is not None:
        wanted = wanted.where(REQUESTS.c.log == log)
    rows = connection.execute(wanted.order_by(REQUESTS.c.log, REQUESTS.c.seq)).mappings()
    found: dict[str, list[Entry]] = {}
    for row in rows:
        found.setdefault(row["visit"], []).append(row_entry(row))
    logs = sorted(found.values(), key=lambda each: (each[0].at, each[0].visit))
    return [entry for each in logs for entry in each]
