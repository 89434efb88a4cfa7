"""A hold: an order to keep footage, which locks the steps that could destroy it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Hold:
    """Keep the footage of ``vehicle`` from ``start`` to ``end`` (aware UTC datetimes).

    A released hold keeps who released it, why and when.
    """

    id: str
    vehicle: str
    start: datetime
    end: datetime
    reason: str
    placed_by: str
    placed_at: datetime
    released_by: str | None = None
    release_reason: str | None = None
    released_at: datetime | None = None

    @property
    def active(self) -> bool:
        """True until somebody has released it."""
        return self.released_at is None
