"""The store of journals and holds."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from asfound.model.hold import Hold
from asfound.model.journal import Entry


class Store(Protocol):
    """Journals by visit, and holds. Every write is durable when the call returns."""

    def append(self, entry: Entry) -> None:
        """Add an entry. Raises StorageError, and IntegrityError when ``entry`` does not
        continue the stored chain (somebody else wrote in between)."""
        ...

    def entries(self, visit: str) -> Sequence[Entry]:
        """All entries of a visit in order; empty when there is no such visit."""
        ...

    def visits(self) -> Sequence[str]:
        """Ids of all visits, newest first."""
        ...

    def save_hold(self, hold: Hold) -> None:
        """Insert a hold, or update it (a release). Raises StorageError."""
        ...

    def holds(self, vehicle: str | None = None) -> Sequence[Hold]:
        """Holds of one vehicle, or all, oldest first."""
        ...
