"""A mounted stick, on which one firmware image is put, and the image that is put there."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Protocol

from asfound.model.stick import Entry, StickFacts
from asfound.ports.drive_space import Past

OURS = "asfound-stick"
"""Folder at the top of a stick for what is ours: parts and the slip."""


class Image(Protocol):
    """A firmware image on this computer."""

    @property
    def name(self) -> str:
        """Its name, without folder."""
        ...

    def size(self) -> int:
        """Bytes. Raises NotFound, UsageError, StorageError."""
        ...

    def pieces(self) -> Iterator[bytes]:
        """Its content from the start. Raises NotFound, StorageError."""
        ...


class Stick(Protocol):
    """Things on the stick by their path from its top, parts joined by "/"; no link is followed.

    What the stick refuses raises StorageError, with what to do about it.
    """

    @property
    def past(self) -> Past:
        """How the last read came."""
        ...

    def begin(self) -> None:
        """Take the stick. Raises NotFound, UsageError when nothing is mounted there, StorageError
        when somebody else has taken it."""
        ...

    def end(self) -> None:
        """Close all that is open and give the stick back; never raises."""
        ...

    def facts(self) -> StickFacts:
        """What is mounted, and the room on it now."""
        ...

    def entries(self) -> tuple[Entry, ...]:
        """All that is on it, folders before what is in them."""
        ...

    def make_folder(self, path: str) -> None:
        """A new folder, durable."""
        ...

    def create(self, path: str) -> None:
        """A new, empty file that takes writes; it must not be there yet."""
        ...

    def write(self, data: memoryview) -> int:
        """Bytes of ``data`` that the file created last took, after what it has; may be fewer."""
        ...

    def settle(self) -> None:
        """What was written is on the stick and no longer in the computer's memory; close it."""
        ...

    def read(self, path: str, offset: int, size: int) -> bytes | memoryview:
        """What lies there, past the computer's memory; less where the file ends. Valid until the
        next call."""
        ...

    def rename(self, path: str, to: str) -> None:
        """Another name, durable; nothing of that name may be there but what ``path`` is."""
        ...

    def remove(self, path: str) -> None:
        """One file or link goes, durably."""
        ...
