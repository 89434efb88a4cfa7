"""Visits: list, open, one with its steps, and what is done in it."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal

from fastapi import APIRouter, Query
from pydantic import BaseModel, Field

from asfound.model.visit import VisitState
from asfound.model.visit_line import LineQuery
from asfound.web.api.shapes import HoldOut, VisitLineOut
from asfound.web.context import Asked, Here
from asfound.web.pages.open_visit import Opening, open_one
from asfound.web.slugs import unslug
from asfound.web.view_fleet import PAGE
from asfound.web.view_visit import Card, VisitView, load_view, may_override
from asfound.web.visit_acts import Act, add_note, close, pass_gate, tick_off

router = APIRouter(prefix="/visits", tags=["visits"])

Text = Annotated[str, Field(max_length=2000)]
Name = Annotated[str, Field(max_length=80)]
Head = Annotated[str, Field(pattern="^[0-9a-f]{64}$", description="The journal's head seen last.")]


class GateOut(BaseModel):
    """A gate of a step; ``why`` it is shut, and whether a person may pass it."""

    gate: str
    holds: bool
    why: str
    overridden: bool
    may_override: bool


class StepOut(BaseModel):
    """A step of the visit; ``state`` is done, now, ready or locked."""

    id: str
    number: int
    title: str
    text: str
    kind: str
    state: str
    gates: list[GateOut]
    cautions: list[str]
    done_by: str | None
    done_at: datetime | None
    note: str
    missing: str
    may_tick: bool

    @classmethod
    def of(cls, card: Card) -> StepOut:
        """From the card that pages show."""
        return cls(
            id=card.step.id,
            number=card.number,
            title=card.step.title,
            text=card.text,
            kind=card.step.kind,
            state=card.state,
            gates=[
                GateOut(
                    gate=gate.gate,
                    holds=gate.holds,
                    why=gate.why,
                    overridden=gate.overridden,
                    may_override=may_override(gate),
                )
                for gate in card.gates
            ],
            cautions=[f"{item.title}. {' '.join(item.text.split())}" for item in card.cautions],
            done_by=card.done.by if card.done else None,
            done_at=card.done.at if card.done else None,
            note=card.done.note if card.done else "",
            missing=card.missing,
            may_tick=card.may_tick,
        )


class VisitOut(BaseModel):
    """A visit as it stands; ``head`` is what the next write must name."""

    id: str
    vehicle: str
    procedure: str
    opened_by: str
    opened_at: datetime
    firmware_found: str
    firmware_left: str
    closed_by: str | None
    closed_at: datetime | None
    entries: int
    head: str
    steps: list[StepOut]
    holds: list[HoldOut]

    @classmethod
    def of(cls, view: VisitView) -> VisitOut:
        """From what pages show."""
        state = view.state
        return cls(
            id=state.id,
            vehicle=state.vehicle.number,
            procedure=state.procedure.id,
            opened_by=state.opened_by,
            opened_at=state.opened_at,
            firmware_found=state.firmware_found,
            firmware_left=state.firmware_left,
            closed_by=state.closed_by,
            closed_at=state.closed_at,
            entries=state.entries,
            head=state.head,
            steps=[StepOut.of(card) for card in view.cards],
            holds=[HoldOut.of(hold) for hold in state.holds],
        )


class OpenIn(BaseModel):
    """A visit to open; without ``firmware`` it is the fleet file's."""

    vehicle: Name
    procedure: Name
    by: Name
    firmware: Name = ""


class DoneIn(BaseModel):
    """A step to tick off; a firmware step says which version is installed now, a drive step may say
    which drive came out and which went in."""

    head: Head
    by: Name
    note: Text = ""
    firmware: Name = ""
    drive_out: Name = ""
    drive_in: Name = ""


class NoteIn(BaseModel):
    """A note to write down, at a step or at none."""

    head: Head
    by: Name
    note: Text
    step: Name = ""


class OverrideIn(BaseModel):
    """A shut gate to pass, with name and reason."""

    head: Head
    by: Name
    step: Name
    gate: Name
    reason: Text


class CloseIn(BaseModel):
    """A visit to close."""

    head: Head
    by: Name
    note: Text = ""


@router.get("")
def visits(
    here: Asked,
    state: Literal["open", "closed", "all"] = "all",
    vehicle: Annotated[str, Query(max_length=100, description="A vehicle's key.")] = "",
    page: Annotated[int, Query(ge=1, le=1_000_000)] = 1,
) -> list[VisitLineOut]:
    """Visits, newest first, fifty a page; an empty page is past the last."""
    closed = None if state == "all" else state == "closed"
    vehicles = (unslug(vehicle),) if vehicle else None
    query = LineQuery(vehicles, closed, PAGE, (page - 1) * PAGE)
    return [VisitLineOut.of(line) for line in here.services.desk.store.lines(query)]


@router.post("", status_code=201)
def open_visit(here: Asked, wanted: OpenIn) -> VisitOut:
    """Open a visit."""
    made = open_one(
        Opening(wanted.vehicle, wanted.procedure, wanted.by, wanted.firmware), here.services
    )
    return VisitOut.of(load_view(made, here.services))


@router.get("/{visit}")
def one(here: Asked, visit: str) -> VisitOut:
    """A visit with its steps."""
    return VisitOut.of(load_view(visit, here.services))


@router.post("/{visit}/steps/{step}/done")
def done(here: Asked, visit: str, step: str, wanted: DoneIn) -> VisitOut:
    """Tick a step off."""
    act = Act(
        visit, wanted.head, wanted.by, step, wanted.note, firmware=wanted.firmware,
        drive_out=wanted.drive_out, drive_in=wanted.drive_in,
    )  # fmt: skip
    return _after(here, tick_off(act, here))


@router.post("/{visit}/notes", status_code=201)
def note(here: Asked, visit: str, wanted: NoteIn) -> VisitOut:
    """Write a note down."""
    act = Act(visit, wanted.head, wanted.by, wanted.step, wanted.note)
    return _after(here, add_note(act, here))


@router.post("/{visit}/overrides", status_code=201)
def override(here: Asked, visit: str, wanted: OverrideIn) -> VisitOut:
    """Pass a shut gate."""
    act = Act(visit, wanted.head, wanted.by, wanted.step, gate=wanted.gate, reason=wanted.reason)
    return _after(here, pass_gate(act, here))


@router.post("/{visit}/close")
def close_one(here: Asked, visit: str, wanted: CloseIn) -> VisitOut:
    """Close the visit."""
    return _after(here, close(Act(visit, wanted.head, wanted.by, note=wanted.note), here))


def _after(here: Here, state: VisitState) -> VisitOut:
    here.server.hub.wake(state.id)
    return VisitOut.of(load_view(state.id, here.services))
