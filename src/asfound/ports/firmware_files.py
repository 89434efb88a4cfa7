"""Files of a folder of firmware images: looked at, never changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol


@dataclass(frozen=True, slots=True)
class FileSeen:
    """Something in the folder, links not followed; ``size`` [byte], None for what is no file."""

    name: str
    size: int | None


class FirmwareFiles(Protocol):
    """One folder."""

    def listing(self) -> Sequence[FileSeen]:
        """What lies in the folder itself, by name. Raises NotFound, StorageError."""
        ...

    def sha256(self, name: str) -> str:
        """SHA-256 of a file, 64 hexadecimal figures. Raises StorageError."""
        ...

    def content(self, name: str) -> bytes:
        """A whole file, at once: signatures are over all of it. Raises StorageError."""
        ...
