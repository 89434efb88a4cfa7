"""What a visit found the cause of a fault to be, and what led there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class FaultFound:
    """One fault whose cause was found. Ids are those of the fault guide ``guide``.

    ``symptoms``: those that were there. ``checks``: (symptom or check, outcome) in the order in
    which they were made. ``tried``: causes that were repaired in vain. ``title``: the cause in
    words, as the guide had it then. ``entry``: its number in the journal.
    """

    cause: str
    title: str
    guide: str
    symptoms: tuple[str, ...]
    checks: tuple[tuple[str, str], ...]
    tried: tuple[str, ...]
    note: str
    by: str
    at: datetime
    entry: int


def with_found(
    known: Sequence[FaultFound], found: FaultFound, instead: bool
) -> tuple[FaultFound, ...]:
    """The faults of a visit with one more; ``instead``: in place of the last."""
    return (*(known[:-1] if instead else known), found)
