"""Logs of drives: entries are added, none is ever changed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from asfound.model.journal import Entry


class DriveLog(Protocol):
    """Logs by name (``Entry.visit``), each chained by hashes as a journal is.

    A log is named ``<writer>/<serial>``: the first 16 figures of the public key of the home that
    alone writes it, and the normalised serial number (``calc/drive_names.py``). A drive's story is
    the union of its logs, so that homes can be put together in any order.
    """

    def append_drive(self, entry: Entry) -> None:
        """Add an entry, durable on return. Raises StorageError, and IntegrityError when it does
        not continue its log."""
        ...

    def drive_entries(self, log: str | None = None) -> Sequence[Entry]:
        """The entries of one log, or of all, log by log in the order of their names. Raises
        StorageError, IntegrityError."""
        ...
