"""Bags on a disk: read entry by entry without following a link, and written as new folders."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import Protocol


class EntryKind(StrEnum):
    """What lies in a bag. Folders are gone through, not told."""

    FILE = "file"
    LINK = "link"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class Entry:
    """An entry by its path in the bag, parted by "/"; bytes that are not UTF-8 stand as lone
    surrogates. ``size`` [bytes]."""

    name: str
    kind: EntryKind
    size: int


class OpenBag(Protocol):
    """A bag that is read. What the disk refuses raises StorageError; IntegrityError: something was
    put in another's place between being listed and being read."""

    def entries(self) -> Iterator[Entry]:
        """Everything that lies in the bag, folder by folder. Raises NotFound, UsageError."""
        ...

    def read(self, name: str, most: int) -> bytes:
        """The first ``most`` bytes of a file; fewer where it ends."""
        ...

    def lines(self, name: str, most: int) -> Iterator[bytes]:
        """Lines with their ends; one longer than ``most`` bytes comes in pieces."""
        ...

    def hashes(self, name: str, names: tuple[str, ...]) -> tuple[str, ...]:
        """Checksums (hexadecimal) by the algorithms ``names``, in one pass, in little memory."""
        ...


@dataclass(frozen=True, slots=True)
class Copied:
    """A file as it was copied: SHA-256 of what was read, size [bytes], time of change [ns]."""

    sha256: str
    size: int
    modified_ns: int


class NewBag(Protocol):
    """A bag that is written beside its place; it has its name when it is finished."""

    def begin(self) -> int:
        """Take the place. Returns how many files of an earlier, killed run were removed. Raises
        UsageError when something has the name, NotFound, StorageError."""
        ...

    def copy(self, source: Path, name: str) -> Copied:
        """Copy a file, durably, and have the copy read again, perhaps behind what comes next
        (``settle``). Raises StorageError, NotFound, and IntegrityError when the original changed
        meanwhile, or this or an earlier copy is not what was read."""
        ...

    def derive(self, name: str, of: str, make: Callable[[Path, Path], None]) -> Copied:
        """A file made from the copy ``of``: ``make`` is handed the copy, which it only reads, and
        the place of the new file. What it raises goes on, and nothing is kept of the new file.
        Raises StorageError."""
        ...

    def settle(self) -> None:
        """Wait until every copy was read again. Raises IntegrityError, StorageError."""
        ...

    def write(self, name: str, data: bytes) -> None:
        """A small file, durable. Raises StorageError."""
        ...

    def finish(self) -> None:
        """``settle``, then give the bag its name. Raises StorageError, UsageError,
        IntegrityError."""
        ...

    def drop(self) -> None:
        """Remove what was written and not finished; never raises. Always called last."""
        ...
