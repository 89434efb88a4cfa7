"""Coverage: what is on disk held against the hours that should be."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum


class CoverageVerdict(StrEnum):
    """Whether the expected hours are on disk; "unclear" never counts as fine."""

    COMPLETE = "complete"
    MISSING = "missing"
    UNCLEAR = "unclear"


@dataclass(frozen=True, slots=True)
class Hours:
    """Local clock times on some days of the week: 0 = Monday (ISO 8601's 1) to 6 = Sunday.

    ``start`` and ``end`` are minutes after midnight, ``end`` up to 1440. An ``end`` that is not
    after ``start`` lies on the next day.
    """

    days: tuple[int, ...]
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Schedule:
    """A week of expected hours in an IANA time zone; nothing is expected to start on ``off``."""

    zone: str
    hours: tuple[Hours, ...]
    off: tuple[date, ...] = ()


@dataclass(frozen=True, slots=True)
class Period:
    """From ``start`` up to ``end``, both aware; ``end`` itself is outside."""

    start: datetime
    end: datetime

    @property
    def hours(self) -> float:
        """Its length [h]."""
        return (self.end - self.start).total_seconds() / 3600


@dataclass(frozen=True, slots=True)
class IgnitionLog:
    """When the vehicle drove, and in ``notes`` what the log leaves open."""

    driven: tuple[Period, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Piece:
    """One recording placed in time: what ``channel`` has on disk. Times aware."""

    channel: int
    file: str
    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class ChannelCoverage:
    """One channel against the expected hours [h].

    ``share`` is held / expected, None when nothing was expected. ``missing`` are the holes
    longer than allowed, ``scraps_h`` the hours of all shorter ones together. ``oldest`` and
    ``newest``: its first and last moment on disk; ``days_kept``: from its oldest picture to the
    drive's newest. ``whole_since``: from then on no hole is longer than allowed.
    """

    channel: int
    expected_h: float
    held_h: float
    share: float | None
    missing: tuple[Period, ...]
    scraps_h: float
    oldest: datetime | None
    newest: datetime | None
    days_kept: float | None
    whole_since: datetime | None


@dataclass(frozen=True, slots=True)
class Found:
    """What a footage request finds on one channel, and in which files.

    ``missing`` is not on disk though the vehicle was driving; ``idle`` neither: nothing was
    expected then.
    """

    channel: int
    held: tuple[Period, ...]
    missing: tuple[Period, ...]
    idle: tuple[Period, ...]
    files: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Coverage:
    """The whole answer.

    ``window`` is the time that counts; ``older_h`` are hours driven before it, overwritten or
    never recorded, which cannot be told apart. ``allow_s`` is the longest hole that is no
    finding, ``days`` the days promised (None: not said), ``short`` the channels that keep fewer.
    ``unclear`` lists, one line each, what could not be judged; ``notes`` what may explain it.
    """

    verdict: CoverageVerdict
    window: Period
    older_h: float
    allow_s: float
    channels: tuple[ChannelCoverage, ...]
    days: float | None = None
    short: tuple[int, ...] = ()
    request: Period | None = None
    found: tuple[Found, ...] = ()
    unclear: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
