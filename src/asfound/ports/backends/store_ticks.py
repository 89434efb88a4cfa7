"""Statements on the table of ticks on re-key sheets."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy import Connection, RowMapping, delete, func, insert, select

from asfound.errors import IntegrityError
from asfound.model.journal import rfc3339
from asfound.model.key_tick import KeyTick
from asfound.ports.backends.store_tables import TICKS


def save_tick(connection: Connection, tick: KeyTick) -> None:
    """Put the tick in place of an earlier one, within the caller's transaction."""
    same = (TICKS.c.visit == tick.visit, TICKS.c.mark == tick.mark)
    connection.execute(delete(TICKS).where(*same))
    row = {"visit": tick.visit, "mark": tick.mark, "done": int(tick.done), "by": tick.by}
    connection.execute(insert(TICKS).values({**row, "at": rfc3339(tick.at)}))


def ticks(connection: Connection, visit: str) -> Sequence[KeyTick]:
    """A visit's ticks, oldest first, those taken back among them. Raises IntegrityError."""
    wanted = select(TICKS).where(TICKS.c.visit == visit).order_by(TICKS.c.at, TICKS.c.mark)
    return [_row_tick(row) for row in connection.execute(wanted).mappings()]


def ticks_stamp(connection: Connection, visit: str) -> str:
    """Changes whenever a tick of the visit does; "" while there is none."""
    row = connection.execute(
        select(func.count(), func.sum(TICKS.c.done), func.max(TICKS.c.at)).where(
            TICKS.c.visit == visit
        )
    ).one()
    return f"{row[0]}-{row[1]}-{row[2]}" if row[0] else ""


def _row_tick(row: RowMapping) -> KeyTick:
    try:
        at = datetime.fromisoformat(row["at"])
    except ValueError:
        raise IntegrityError(
            f"visit {row['visit']}: a tick was changed after it was written; "
            "bring the database back from a copy"
        ) from None
    return KeyTick(row["visit"], row["mark"], bool(row["done"]), row["by"], at)
