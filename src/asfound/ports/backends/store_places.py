"""Statements on the table of photographs of where recorders sit."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy import Connection, RowMapping, func, insert, select

from asfound.errors import IntegrityError
from asfound.model.journal import rfc3339
from asfound.model.place_picture import PlacePicture
from asfound.ports.backends.store_tables import PLACES


def save_place_picture(connection: Connection, picture: PlacePicture) -> None:
    """Put the photograph before the vehicle's earlier ones, within the caller's transaction."""
    mine = PLACES.c.vehicle == picture.vehicle
    last = connection.execute(select(func.max(PLACES.c.seq)).where(mine)).scalar()
    row = {"vehicle": picture.vehicle, "seq": 0 if last is None else last + 1}
    kept = {"picture": picture.picture, "by": picture.by, "at": rfc3339(picture.at)}
    connection.execute(insert(PLACES).values({**row, **kept}))


def place_pictures(connection: Connection, vehicle: str) -> Sequence[PlacePicture]:
    """The vehicle's photographs, newest first. Raises IntegrityError."""
    wanted = select(PLACES).where(PLACES.c.vehicle == vehicle).order_by(PLACES.c.seq.desc())
    return [_row_picture(row) for row in connection.execute(wanted).mappings()]


def _row_picture(row: RowMapping) -> PlacePicture:
    try:
        at = datetime.fromisoformat(row["at"])
    except ValueError:
        raise IntegrityError(
            f"vehicle {row['vehicle']}: the photograph of where its recorder sits was changed "
            "after it was written; bring the database back from a copy"
        ) from None
    return PlacePicture(row["vehicle"], row["picture"], row["by"], at)
