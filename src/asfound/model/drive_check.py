"""What a check of a drive found: the same form for its life, its health and its test."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Weight(StrEnum):
    """What a finding about a drive means for its use."""

    FAILING = "failing"
    SUSPECT = "suspect"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class DriveFinding:
    """``measured`` against ``limit`` [``unit``]; None: there is no figure. ``source`` says where
    the limit comes from, ``note`` what a person would say."""

    kind: str
    weight: Weight
    measured: float | None
    limit: float | None
    unit: str
    source: str
    note: str
