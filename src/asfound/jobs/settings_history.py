"""Which settings of a recorder changed when: from what closed visits found and left.

Pure: the same visits give the same history. Only values that are known on both sides make a
change; what was not read is counted, never guessed.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from asfound.model.visit import VisitState


class Moment(StrEnum):
    """When a setting changed: by the visit's own work, after the visit before and before this
    one, or, where it was not read as found, one of the two."""

    VISIT = "visit"
    BETWEEN = "between"
    EITHER = "either"


@dataclass(frozen=True, slots=True)
class SettingChange:
    """A setting (menu map's id) that had the canonical value ``before`` and then ``after``."""

    field: str
    label: str
    before: str
    after: str
    moment: Moment


@dataclass(frozen=True, slots=True)
class VisitChanges:
    """What a closed visit says of the settings: ``known`` of them as left, ``unknown`` not.

    ``changes``: None for the first visit whose settings are known; there is nothing to hold them
    against but what it found. ``read`` False: the settings as left were not read.
    """

    visit: str
    at: datetime | None
    by: str
    firmware: str
    read: bool
    known: int = 0
    unknown: int = 0
    first: bool = False
    changes: tuple[SettingChange, ...] = ()


def settings_history(
    visits: Sequence[VisitState], skip: Collection[str] = ()
) -> tuple[VisitChanges, ...]:
    """The history of ``visits``, which are closed visits of one vehicle, oldest first; so is the
    answer. Fields in ``skip`` are no settings: clocks, counters, serial numbers."""
    last: dict[str, str] = {}
    made: list[VisitChanges] = []
    for state in visits:
        left, labels, fields = _left(state)
        head = (state.id, state.closed_at, state.closed_by or "", state.firmware_left)
        if not fields:
            made.append(VisitChanges(*head, False))
            continue
        found = state.as_found_values()
        changes = tuple(
            change
            for name in labels
            if name not in skip
            for change in _changes(name, labels[name], (last, found, left))
        )
        known = sum(name not in skip for name in left)
        total = sum(name not in skip for name in labels)
        made.append(VisitChanges(*head, True, known, total - known, not last, changes))
        last |= left
    return tuple(made)


def _left(state: VisitState) -> tuple[dict[str, str], dict[str, str], int]:
    """(known values as left, labels, number of fields); nothing where nothing was read as left."""
    if not state.rounds:
        return {}, {}, 0
    reading = state.rounds[-1].reading
    values = reading.sure_values() | {item.id: item.value for item in state.rounds[-1].settled}
    labels = {field.id: field.label for field in reading.fields}
    return values, labels, len(reading.fields)


def _changes(
    name: str, label: str, values: tuple[Mapping[str, str], Mapping[str, str], Mapping[str, str]]
) -> list[SettingChange]:
    last, found, left = (known.get(name) for known in values)
    if found is None:
        pairs = [(last, left, Moment.EITHER)]
    else:
        pairs = [(last, found, Moment.BETWEEN), (found, left, Moment.VISIT)]
    return [
        SettingChange(name, label, before, after, moment)
        for before, after, moment in pairs
        if before is not None and after is not None and before != after
    ]
