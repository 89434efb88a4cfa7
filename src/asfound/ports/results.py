"""Results of long looks at files, kept so that only new and changed files are looked at again."""

from __future__ import annotations

from pathlib import Path
from typing import Protocol


class Results(Protocol):
    """What was found out about files, by a key that names content and version.

    Nothing here is needed: a result that is gone, damaged or cannot be stored is worked out
    again. None of the methods raises for that; what is wrong is told to a person once.
    """

    def fingerprint(self, path: Path) -> str:
        """A text that another content of the file would not have; "" when none can be had:
        the file cannot be read, or was written to only just now."""
        ...

    def version(self) -> str:
        """A text that changes whenever this program, or what it decodes with, changes."""
        ...

    def get(self, key: str) -> bytes | None:
        """What was stored under ``key``, checked; None when there is nothing."""
        ...

    def put(self, key: str, data: bytes) -> None:
        """Store ``data`` so that a process killed afterwards keeps it."""
        ...

    def reject(self, key: str, why: str) -> None:
        """Drop what is stored under ``key``: it cannot be used."""
        ...
