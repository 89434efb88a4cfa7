"""Where a vehicle's recorder sits, as a photograph: it outlasts a visit, so no journal holds it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class PlacePicture:
    """The photograph of where the recorder of ``vehicle`` (its number) sits.

    ``picture`` is the SHA-256 of the file as it came, hex; "" when it was taken away. ``at`` is
    aware.
    """

    vehicle: str
    picture: str
    by: str
    at: datetime
