"""A firmware rollout over a fleet in waves: what was agreed before the first vehicle."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Literal


class Decision(StrEnum):
    """What the stop rule says; could-not-tell never counts as go-on."""

    GO_ON = "go-on"
    HOLD = "hold"
    STOP = "stop"
    COULD_NOT_TELL = "could-not-tell"


class Outcome(StrEnum):
    """What became of one vehicle that got the new version; see docs/rollout.md."""

    FAILED = "failed"
    PASSED = "passed"
    WAITING = "waiting"
    COULD_NOT_TELL = "could-not-tell"


@dataclass(frozen=True, slots=True)
class StopLimits:
    """Failure rates 0..1: ``acceptable`` (p0) may be lived with, ``unacceptable`` (p1) may not.

    ``alpha``: chance to stop at p0, ``beta``: chance to go on at p1 (sequential rule).
    ``confidence``: of each one-sided bound (exact rule).
    """

    acceptable: float
    unacceptable: float
    rule: Literal["sequential", "exact"] = "sequential"
    alpha: float = 0.05
    beta: float = 0.10
    confidence: float = 0.95


@dataclass(frozen=True, slots=True)
class Pilot:
    """The first vehicles: named, or ``count`` of them from these depots and classes (none
    named: from all)."""

    vehicles: tuple[str, ...] = ()
    count: int = 0
    depots: tuple[str, ...] = ()
    classes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Rollout:
    """One rollout. ``waves`` are sizes after the pilot; the last is repeated until all are done.

    ``hold_days`` [d] go by after a visit is closed before its vehicle counts as passed.
    ``hardware``: revisions that the version is for (none named: all).
    """

    id: str
    map_id: str
    hardware: tuple[str, ...]
    target: str
    pilot: Pilot
    waves: tuple[int, ...]
    hold_days: int
    limits: StopLimits
    started_on: date
    approved_by: str
    approved_on: date
