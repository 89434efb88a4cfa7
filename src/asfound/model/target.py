"""Target: what the settings should be, and where each value comes from."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Origin(StrEnum):
    """Where a target value comes from; the first that speaks wins, from override down."""

    OVERRIDE = "override"
    CLASS = "class"
    BASELINE = "baseline"
    AS_FOUND = "as-found"


@dataclass(frozen=True, slots=True)
class TargetValue:
    """One field's target; ``as_found`` is kept for the report (None: not read)."""

    id: str
    value: str
    origin: Origin
    as_found: str | None = None


@dataclass(frozen=True, slots=True)
class Target:
    """Target values in menu order; ``unknown`` are settable fields that nobody speaks for."""

    map_id: str
    firmware: str
    values: tuple[TargetValue, ...]
    unknown: tuple[str, ...] = ()

    def as_dict(self) -> dict[str, str]:
        """Field id -> canonical target value."""
        return {item.id: item.value for item in self.values}
