"""Stores put together: what one knows is taken into another, in any order and again and again."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from asfound.model.bundle import Book, Bundle, Merged
from asfound.model.journal import Entry


class Merging(Protocol):
    """Takes bundles in. Stores that took in the same bundles, whatever the order, are the same."""

    def merge(self, bundle: Bundle) -> Merged:
        """Take all of it in, or nothing; durable on return. What a log's other branch says is
        kept, set aside. ``bundle``'s entries and chains have been checked before. Raises
        StorageError, IntegrityError (what is stored here was altered)."""
        ...

    def set_aside(self, book: Book | None = None, log: str | None = None) -> Sequence[Entry]:
        """Entries of branches that do not count, of one log or of all, log by log. Raises
        StorageError, IntegrityError."""
        ...
