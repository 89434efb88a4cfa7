"""Motion triggers: what they watch, and how they may be set."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Direction(StrEnum):
    """What a trigger watches, signs left out. LEVEL: forward and sideways together, where it is
    not known which way is forward; TOTAL: all three, where up is not known either."""

    FORWARD = "forward"
    SIDEWAYS = "sideways"
    UPRIGHT = "upright"
    LEVEL = "level"
    TOTAL = "total"


@dataclass(frozen=True, slots=True)
class Trigger:
    """``direction`` at or above ``threshold_g`` [g] for ``duration_s`` [s] at least."""

    direction: Direction
    threshold_g: float
    duration_s: float
