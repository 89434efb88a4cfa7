"""Shapes that several resources share."""

from __future__ import annotations

from datetime import datetime

from pydantic import BaseModel

from asfound.model.hold import Hold
from asfound.model.visit_line import VisitLine


class VisitLineOut(BaseModel):
    """A visit in one line. ``head`` is what a write to it must name."""

    id: str
    vehicle: str
    procedure: str
    opened_by: str
    opened_at: datetime
    steps: int
    done: int
    closed: bool
    next_step: str
    next_title: str
    entries: int
    head: str
    last_at: datetime | None

    @classmethod
    def of(cls, line: VisitLine) -> VisitLineOut:
        """From the model's line."""
        return cls(
            id=line.id,
            vehicle=line.vehicle,
            procedure=line.procedure,
            opened_by=line.opened_by,
            opened_at=line.opened_at,
            steps=line.steps,
            done=line.done,
            closed=line.closed,
            next_step=line.next_step,
            next_title=line.next_title,
            entries=line.entries,
            head=line.head,
            last_at=line.last_at,
        )


class HoldOut(BaseModel):
    """An order to keep footage; a released one says by whom, why and when."""

    id: str
    vehicle: str
    start: datetime
    end: datetime
    reason: str
    placed_by: str
    placed_at: datetime
    active: bool
    released_by: str | None
    release_reason: str | None
    released_at: datetime | None

    @classmethod
    def of(cls, hold: Hold) -> HoldOut:
        """From the model's hold."""
        return cls(
            id=hold.id,
            vehicle=hold.vehicle,
            start=hold.start,
            end=hold.end,
            reason=hold.reason,
            placed_by=hold.placed_by,
            placed_at=hold.placed_at,
            active=hold.active,
            released_by=hold.released_by,
            release_reason=hold.release_reason,
            released_at=hold.released_at,
        )
