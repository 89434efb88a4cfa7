"""Difference: the settings as left against the target, every field accounted for."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Verdict(StrEnum):
    """What became of one field.

    same: as the target says. missed: still the factory default, target differs. wrong:
    neither. extra: the target is the factory default, yet it was changed. doubt: not read
    for sure. no-target: nobody says what it should be. clock: runs by itself, not compared.
    """

    SAME = "same"
    MISSED = "missed"
    WRONG = "wrong"
    EXTRA = "extra"
    DOUBT = "doubt"
    NO_TARGET = "no-target"
    CLOCK = "clock"


OPEN = frozenset({Verdict.MISSED, Verdict.WRONG, Verdict.EXTRA, Verdict.DOUBT})


@dataclass(frozen=True, slots=True)
class FieldDifference:
    """One field's verdict; values are canonical, None when not known."""

    id: str
    label: str
    verdict: Verdict
    target: str | None
    as_left: str | None
    default: str | None = None


@dataclass(frozen=True, slots=True)
class Difference:
    """All fields of the installed firmware, in menu order."""

    map_id: str
    firmware: str
    fields: tuple[FieldDifference, ...]

    def open_items(self) -> tuple[FieldDifference, ...]:
        """What still has to be mended or settled before the visit can close."""
        return tuple(item for item in self.fields if item.verdict in OPEN)

    def counts(self) -> dict[Verdict, int]:
        """How many fields got each verdict; every verdict is present."""
        return {
            verdict: sum(item.verdict is verdict for item in self.fields) for verdict in Verdict
        }
