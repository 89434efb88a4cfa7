"""What a test of a drive's free space found."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from asfound.model.drive_check import DriveFinding


class DriveTestVerdict(StrEnum):
    """Whether what was written came back. ``size-true``: of samples of all of it; could-not-tell
    never counts as sound."""

    SOUND = "sound"
    SIZE_TRUE = "size-true"
    FAULTY = "faulty"
    COULD_NOT_TELL = "could-not-tell"


class DriveTestFault(StrEnum):
    """What is wrong with a drive that was tested."""

    COUNTS_ROUND = "counts-round"
    FORGETS = "forgets"
    DAMAGED = "damaged"
    MISPLACED = "misplaced"
    UNREADABLE = "unreadable"
    UNWRITABLE = "unwritable"
    SHORT_WRITES = "short-writes"
    FULL_EARLY = "full-early"
    TOO_SLOW = "too-slow"


@dataclass(frozen=True, slots=True)
class BadSpan:
    """Bytes of the run, from ``start``, that did not come back, and how they came."""

    start: int
    length: int
    what: str


@dataclass(frozen=True, slots=True)
class DriveTested:
    """``total`` and ``free`` of the file system before [bytes]; ``span``: the run's length, of
    which ``written`` were written and ``good`` came back; ``sampled``: or only samples of it.
    ``real``: what the drive holds as far as can be told (None: it holds what it says).
    Rates [byte/s] with flushing (None: too little for a figure). ``past``: whether reads came
    from the drive (ports.drive_space.Past). ``removed``: files that an earlier test had left;
    ``left``: files of this one that could not be removed. ``unclear``: a line for each reason
    why nothing found is not enough."""

    verdict: DriveTestVerdict
    total: int
    free: int
    span: int
    sampled: bool
    written: int
    read: int
    good: int
    real: int | None
    write_rate: float | None
    read_rate: float | None
    past: str
    bad: tuple[BadSpan, ...]
    findings: tuple[DriveFinding, ...]
    unclear: tuple[str, ...]
    removed: int = 0
    left: tuple[str, ...] = ()
