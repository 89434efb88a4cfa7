"""Logs of footage requests and of deletions: entries are added, none is ever changed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from asfound.model.journal import Entry


class RequestLog(Protocol):
    """Logs by name (``Entry.visit``), each chained by hashes as a journal is."""

    def append_request(self, entry: Entry) -> None:
        """Add an entry, durable on return. Raises StorageError, and IntegrityError when it does
        not continue its log."""
        ...

    def request_entries(self, log: str | None = None) -> Sequence[Entry]:
        """The entries of one log, or of all, log by log in the order of their first entries.
        Raises StorageError, IntegrityError."""
        ...
