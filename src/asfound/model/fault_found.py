"""What a visit found the cause of a fault to be, and what led there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from asfound.model.journal import Entry

KIND = "fault-found"
"""The journal's kind of entry."""


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


def with_found(known: Sequence[FaultFound], entry: Entry) -> tuple[FaultFound, ...]:
    """The faults of a visit after an entry of this kind; one that says so stands instead of the
    last. Raises KeyError, TypeError, ValueError when it lacks something."""
    data = entry.data
    instead = bool(data.get("instead", False))
    if instead and not known:
        raise ValueError("there is no earlier fault")
    made = FaultFound(
        str(data["cause"]),
        str(data["title"]),
        str(data["guide"]),
        tuple(map(str, data["symptoms"])),
        tuple((str(one["check"]), str(one["outcome"])) for one in data["checks"]),
        tuple(map(str, data["tried"])),
        str(data.get("note", "")),
        entry.by,
        entry.at,
        entry.seq,
    )
    return (*(known[:-1] if instead else known), made)
