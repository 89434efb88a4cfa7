"""A visit in one line, for lists: kept up entry by entry, so that nothing is folded to list it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from asfound.model.journal import Entry

LINE_KINDS = ("opened", "step-done", "closed")
"""Kinds of entry that change more of a line than its end."""


@dataclass(frozen=True, slots=True)
class VisitLine:
    """One visit in a list; ``done`` of ``steps`` are ticked off.

    ``next_step`` and ``next_title`` are the first step not ticked off, "" when all are.
    ``entries`` and ``head`` are the journal's length and its last hash, ``last_at`` the time of
    its last entry. ``vehicle`` is the fleet number.
    """

    id: str
    vehicle: str
    procedure: str
    opened_by: str
    opened_at: datetime
    done: int
    steps: int
    closed: bool
    next_step: str = ""
    next_title: str = ""
    plan: tuple[tuple[str, str], ...] = ()
    ticked: tuple[str, ...] = ()
    entries: int = 0
    head: str = ""
    last_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class LineQuery:
    """Which visits to list, newest first: of these vehicles (None: of all), open or closed ones
    (None: both), at most ``limit`` (None: all) after skipping ``skip``."""

    vehicles: tuple[str, ...] | None = None
    closed: bool | None = None
    limit: int | None = None
    skip: int = 0


EVERY = LineQuery()
"""All visits."""


def line_after(line: VisitLine | None, entry: Entry) -> VisitLine | None:
    """The line after one more entry; None while the journal has no opening that reads as one."""
    if line is None:
        line = _opened(entry) if entry.kind == "opened" else None
    elif entry.kind in LINE_KINDS[1:]:
        ticked = tuple(dict.fromkeys((*line.ticked, str(entry.data.get("step")))))
        line = replace(line, ticked=ticked, done=len(ticked))
        line = replace(line, closed=line.closed or entry.kind == "closed")
    if line is None:
        return None
    due = next((step for step in line.plan if step[0] not in line.ticked), ("", ""))
    return replace(
        line,
        next_step=due[0],
        next_title=due[1],
        entries=entry.seq + 1,
        head=entry.hash,
        last_at=entry.at,
    )


def _opened(entry: Entry) -> VisitLine | None:
    vehicle, procedure = entry.data.get("vehicle"), entry.data.get("procedure")
    if not isinstance(vehicle, Mapping) or not isinstance(procedure, Mapping):
        return None
    steps: list[Any] = list(procedure.get("steps") or ())
    try:
        plan = tuple((str(step["id"]), str(step["title"])) for step in steps)
        number, title = str(vehicle["number"]), str(procedure["title"])
    except (KeyError, TypeError):
        return None
    return VisitLine(entry.visit, number, title, entry.by, entry.at, 0, len(plan), False, plan=plan)
