"""Free space of a drive in which a test may write files of its own, and nothing else."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol

from asfound.calc.drive_places import Extent
from asfound.errors import StorageError


class Why(StrEnum):
    """Why a drive refused."""

    FULL = "full"
    FAULT = "fault"


class DriveRefused(StorageError):
    """The drive did not do it; ``why`` it says."""

    def __init__(self, text: str, why: Why) -> None:
        super().__init__(text)
        self.why = why


class Past(StrEnum):
    """Whether what is read comes from the drive: past the computer's memory, after it was asked to
    forget, or perhaps from memory."""

    DIRECT = "direct"
    DROPPED = "dropped"
    UNSURE = "unsure"


@dataclass(frozen=True, slots=True)
class Space:
    """Bytes of the whole file system, and of it free; ``system``: the computer runs from it."""

    total: int
    free: int
    system: bool = False


@dataclass(frozen=True, slots=True)
class Cleared:
    """Files of ours that were removed, those that could not be, and names that are not ours."""

    removed: int = 0
    left: tuple[str, ...] = ()
    strange: tuple[str, ...] = ()


class DriveSpace(Protocol):
    """Files numbered from 0, in a place of their own.

    Nothing but them is written, read or removed. What the drive refuses raises DriveRefused.
    """

    @property
    def past(self) -> Past:
        """How the last read came."""
        ...

    def begin(self) -> Cleared:
        """Take the place, and clear what an earlier test left there. Raises StorageError when
        another test is at it, or something of somebody else's is in its way."""
        ...

    def space(self) -> Space:
        """What is free now."""
        ...

    def write(self, file: int, offset: int, data: memoryview) -> int:
        """Bytes that were written of ``data``; may be fewer."""
        ...

    def reserve(self, file: int, size: int) -> bool:
        """Keep ``size`` bytes for the file without writing them; False: that cannot be done."""
        ...

    def settle(self, file: int) -> None:
        """What was written is on the drive, and no longer in the computer's memory."""
        ...

    def extents(self, file: int) -> Sequence[Extent]:
        """Where a settled file lies on the drive; nothing where that is not told."""
        ...

    def read(self, file: int, offset: int, size: int) -> bytes | memoryview:
        """What lies there; less where the file ends. Valid until the next call."""
        ...

    def end(self) -> Cleared:
        """Remove every file of ours and give the place back; never raises."""
        ...
