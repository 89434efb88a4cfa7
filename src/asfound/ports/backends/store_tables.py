"""The store's tables as the newest migration leaves them, and rows to model objects and back.

Times are kept as the RFC 3339 text that the hash was made over, so that nothing about them can
drift between databases; the text sorts in time order.
"""

from __future__ import annotations

import json
from datetime import datetime
from typing import Any

from sqlalchemy import Column, Index, Integer, MetaData, RowMapping, String, Table, Text, text

from asfound.errors import IntegrityError
from asfound.model.hold import Hold
from asfound.model.journal import Entry, canonical_json, rfc3339
from asfound.model.visit_line import VisitLine

METADATA = MetaData()

ENTRIES = Table(
    "entry",
    METADATA,
    Column("visit", String(120), primary_key=True),
    Column("seq", Integer, primary_key=True, autoincrement=False),
    Column("at", String(27), nullable=False),
    Column("by", Text, nullable=False),
    Column("kind", String(40), nullable=False),
    Column("data", Text, nullable=False),
    Column("previous", String(64), nullable=False),
    Column("hash", String(64), nullable=False, unique=True),
)

_FAULT_FOUND = text("kind = 'fault-found'")
Index(
    "ix_entry_fault_found",
    ENTRIES.c.visit,
    ENTRIES.c.seq,
    sqlite_where=_FAULT_FOUND,
    postgresql_where=_FAULT_FOUND,
)
"""What is learned from all closed visits is found without reading all their entries."""

HOLDS = Table(
    "hold",
    METADATA,
    Column("id", String(120), primary_key=True),
    Column("vehicle", Text, nullable=False, index=True),
    Column("start", String(27), nullable=False),
    Column("end", String(27), nullable=False),
    Column("reason", Text, nullable=False),
    Column("placed_by", Text, nullable=False),
    Column("placed_at", String(27), nullable=False),
    Column("released_by", Text),
    Column("release_reason", Text),
    Column("released_at", String(27)),
)

LINES = Table(
    "visit_line",
    METADATA,
    Column("visit", String(120), primary_key=True),
    Column("vehicle", Text, nullable=False),
    Column("procedure", Text, nullable=False),
    Column("opened_by", Text, nullable=False),
    Column("opened_at", String(27), nullable=False),
    Column("closed", Integer, nullable=False),
    Column("plan", Text, nullable=False),
    Column("ticked", Text, nullable=False),
    Column("entries", Integer, nullable=False),
    Column("head", String(64), nullable=False),
    Column("last_at", String(27), nullable=False),
    Index("ix_visit_line_opened", "opened_at", "visit"),
    Index("ix_visit_line_closed", "closed", "opened_at", "visit"),
    Index("ix_visit_line_vehicle", "vehicle", "opened_at", "visit"),
)
"""One line for each visit, written with every entry: what lists show without folding journals."""

TICKS = Table(
    "key_tick",
    METADATA,
    Column("visit", String(120), primary_key=True),
    Column("mark", String(24), primary_key=True),
    Column("done", Integer, nullable=False),
    Column("by", Text, nullable=False),
    Column("at", String(27), nullable=False),
)
"""Ticks on re-key sheets: work notes, one row for each setting that was ever ticked."""

PLACES = Table(
    "place_picture",
    METADATA,
    Column("vehicle", Text, primary_key=True),
    Column("seq", Integer, primary_key=True, autoincrement=False),
    Column("picture", String(64), nullable=False),
    Column("by", Text, nullable=False),
    Column("at", String(27), nullable=False),
)
"""Photographs of where recorders sit; the highest ``seq`` of a vehicle counts."""

REQUESTS = Table(
    "request_entry",
    METADATA,
    Column("log", String(120), primary_key=True),
    Column("seq", Integer, primary_key=True, autoincrement=False),
    Column("at", String(27), nullable=False),
    Column("by", Text, nullable=False),
    Column("kind", String(40), nullable=False),
    Column("data", Text, nullable=False),
    Column("previous", String(64), nullable=False),
    Column("hash", String(64), nullable=False, unique=True),
)
"""Logs of footage requests and of deletions, chained as journals are."""

ASIDE = Table(
    "entry_aside",
    METADATA,
    Column("book", String(20), primary_key=True),
    Column("log", String(120), primary_key=True),
    Column("hash", String(64), primary_key=True),
    Column("seq", Integer, nullable=False),
    Column("at", String(27), nullable=False),
    Column("by", Text, nullable=False),
    Column("kind", String(40), nullable=False),
    Column("data", Text, nullable=False),
    Column("previous", String(64), nullable=False),
)
"""Entries of logs that were continued in two places, of branches that do not count."""

DRIVES = Table(
    "drive_entry",
    METADATA,
    Column("log", String(120), primary_key=True),
    Column("seq", Integer, primary_key=True, autoincrement=False),
    Column("at", String(27), nullable=False),
    Column("by", Text, nullable=False),
    Column("kind", String(40), nullable=False),
    Column("data", Text, nullable=False),
    Column("previous", String(64), nullable=False),
    Column("hash", String(64), nullable=False, unique=True),
)
"""Logs of drives, one for each home and drive, chained as journals are."""

RELEASE = ("released_by", "release_reason", "released_at")
"""The columns of a hold that may be written once more, by its release."""


def entry_row(entry: Entry) -> dict[str, Any]:
    """An entry as column values."""
    return {
        "visit": entry.visit,
        "seq": entry.seq,
        "at": rfc3339(entry.at),
        "by": entry.by,
        "kind": entry.kind,
        "data": canonical_json(entry.data),
        "previous": entry.previous,
        "hash": entry.hash,
    }


def row_entry(row: RowMapping) -> Entry:
    """The entry in a row. Raises IntegrityError when the row was altered beyond reading."""
    try:
        data = json.loads(row["data"])
        at = datetime.fromisoformat(row["at"])
        if not isinstance(data, dict) or at.tzinfo is None:
            raise ValueError("altered")
    except (ValueError, TypeError):
        raise IntegrityError(
            f"visit {row['visit']}: entry {row['seq']} was changed after it was written; "
            "bring the database back from a copy"
        ) from None
    return Entry(
        row["visit"], row["seq"], at, row["by"], row["kind"], data, row["previous"], row["hash"]
    )


def hold_row(hold: Hold) -> dict[str, Any]:
    """A hold as column values."""
    return {
        "id": hold.id,
        "vehicle": hold.vehicle,
        "start": rfc3339(hold.start),
        "end": rfc3339(hold.end),
        "reason": hold.reason,
        "placed_by": hold.placed_by,
        "placed_at": rfc3339(hold.placed_at),
        "released_by": hold.released_by,
        "release_reason": hold.release_reason,
        "released_at": rfc3339(hold.released_at) if hold.released_at else None,
    }


def row_hold(row: RowMapping) -> Hold:
    """The hold in a row. Raises IntegrityError when the row was altered beyond reading."""
    times: dict[str, datetime | None] = {}
    for name in ("start", "end", "placed_at", "released_at"):
        try:
            times[name] = datetime.fromisoformat(row[name]) if row[name] else None
        except ValueError:
            times[name] = None
    start, end, placed_at = times["start"], times["end"], times["placed_at"]
    unreadable = bool(row["released_at"]) and times["released_at"] is None
    if start is None or end is None or placed_at is None or unreadable:
        raise IntegrityError(
            f"hold {row['id']}: a time was changed after it was written; "
            "bring the database back from a copy"
        )
    return Hold(
        row["id"],
        row["vehicle"],
        start,
        end,
        row["reason"],
        row["placed_by"],
        placed_at,
        row["released_by"],
        row["release_reason"],
        times["released_at"],
    )


def line_row(line: VisitLine) -> dict[str, Any]:
    """A visit's line as column values."""
    return {
        "visit": line.id,
        "vehicle": line.vehicle,
        "procedure": line.procedure,
        "opened_by": line.opened_by,
        "opened_at": rfc3339(line.opened_at),
        "closed": int(line.closed),
        "plan": canonical_json(line.plan),
        "ticked": canonical_json(line.ticked),
        "entries": line.entries,
        "head": line.head,
        "last_at": rfc3339(line.last_at or line.opened_at),
    }


def row_line(row: RowMapping) -> VisitLine:
    """The line in a row. Raises IntegrityError when the row was altered beyond reading."""
    try:
        plan = tuple((str(step), str(title)) for step, title in json.loads(row["plan"]))
        ticked = tuple(str(step) for step in json.loads(row["ticked"]))
        opened_at = datetime.fromisoformat(row["opened_at"])
        last_at = datetime.fromisoformat(row["last_at"])
    except (ValueError, TypeError):
        raise IntegrityError(
            f"visit {row['visit']}: its line in the list was changed after it was written; "
            "bring the database back from a copy"
        ) from None
    due = next((step for step in plan if step[0] not in ticked), ("", ""))
    return VisitLine(
        row["visit"],
        row["vehicle"],
        row["procedure"],
        row["opened_by"],
        opened_at,
        len(ticked),
        len(plan),
        bool(row["closed"]),
        *due,
        plan,
        ticked,
        row["entries"],
        row["head"],
        last_at,
    )
