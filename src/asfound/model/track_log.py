"""A log of positions as it was read: the track, and what was wrong with the rest."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from asfound.model.drive_log import LogFault, Track


class FixFault(StrEnum):
    """Why a line or a fix was left out."""

    BROKEN = "broken"
    CHECKSUM = "checksum"
    NO_CHECKSUM = "no-checksum"
    NO_FIX = "no-fix"
    NO_TIME = "no-time"
    NO_DATE = "no-date"
    REPEATED = "repeated-time"
    BACK = "time-back"
    JUMP = "position-jump"
    RANGE = "out-of-range"


@dataclass(frozen=True, slots=True)
class TrackLog:
    """What a log says. ``counts``: how often each fault was found, those named in ``faults``
    included, which are the first of each kind. ``early_weeks``: whole weeks by which its dates
    were too early and have been put right; ``notes`` are lines for the person."""

    name: str
    track: Track
    counts: Mapping[FixFault, int]
    faults: tuple[LogFault, ...] = ()
    notes: tuple[str, ...] = ()
    early_weeks: int = 0
