"""What pages and programs do in a visit, each against the head of the journal they were shown."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

from asfound.errors import UsageError
from asfound.jobs.visit_act import (
    AddNote,
    CloseVisit,
    OverrideGate,
    TickStep,
    close_visit,
    note,
    override,
    tick,
)
from asfound.jobs.visit_fault import RecordFault, record_fault
from asfound.jobs.visit_firmware import ChooseForVisit, choose_for_visit
from asfound.jobs.visit_journal import Desk, load_visit
from asfound.model.visit import VisitState
from asfound.web.heads import desk_at
from asfound.web.services import Services
from asfound.web.view_fault import FaultAsk


class Holder(Protocol):
    """Whoever has the services: a page's Here."""

    @property
    def services(self) -> Services:
        """The machinery behind the pages."""
        ...


@dataclass(frozen=True, slots=True)
class Act:
    """An act on a visit: who, at which step, what was written, and the journal's ``head`` that
    was shown. What does not belong to the act is ""."""

    visit: str
    head: str
    by: str
    step: str = ""
    note: str = ""
    gate: str = ""
    reason: str = ""
    firmware: str = ""
    hardware: str = ""
    drive_out: str = ""
    drive_in: str = ""

    @classmethod
    def of(cls, visit: str, form: Mapping[str, str], name: str) -> Act:
        """The act that a form asks for; ``name`` signs it unless the form names somebody."""
        return cls(
            visit,
            form.get("head", ""),
            form.get("by", "").strip() or name,
            form.get("step", ""),
            form.get("note", ""),
            form.get("gate", ""),
            form.get("reason", ""),
            form.get("firmware", ""),
            form.get("hardware", "").strip(),
            form.get("drive_out", ""),
            form.get("drive_in", ""),
        )


def tick_off(act: Act, holder: Holder) -> VisitState:
    """Tick the step off. Raises HeadMoved, NotFound, UsageError, GateShut, StorageError."""
    desk, services = _desk(act, holder), holder.services
    menu_map = None
    if act.firmware:
        state = load_visit(act.visit, store=desk.store, blobs=desk.blobs)
        menu_map = services.shelf.menu_map(state.vehicle.recorder.map_id)
    request = TickStep(
        act.visit, act.step, act.by, act.note, act.firmware or None, menu_map, act.drive_out,
        act.drive_in,
    )  # fmt: skip
    return tick(request, desk=desk)


def add_note(act: Act, holder: Holder) -> VisitState:
    """Write the note down. Raises HeadMoved, NotFound, UsageError, StorageError."""
    return note(AddNote(act.visit, act.by, act.note, act.step), desk=_desk(act, holder))


def pass_gate(act: Act, holder: Holder) -> VisitState:
    """Override the gate. Raises HeadMoved, NotFound, UsageError, StorageError."""
    request = OverrideGate(act.visit, act.step, act.gate, act.by, act.reason)
    return override(request, desk=_desk(act, holder))


def choose(act: Act, holder: Holder) -> VisitState:
    """Record which firmware is to be put on, as the catalogue says it. Raises HeadMoved, NotFound,
    UsageError, InputError, StorageError."""
    request = ChooseForVisit(act.visit, act.by, act.firmware, act.hardware)
    return choose_for_visit(request, desk=_desk(act, holder))[0]


def close(act: Act, holder: Holder) -> VisitState:
    """Close the visit. Raises HeadMoved, UsageError, GateShut, StorageError."""
    return close_visit(CloseVisit(act.visit, act.by, act.note), desk=_desk(act, holder))


@dataclass(frozen=True, slots=True)
class FaultAct:
    """What a fault came from; ``known`` is the query of the address that led there, ``instead``:
    it stands in place of the visit's last record."""

    visit: str
    head: str
    by: str
    cause: str
    known: str = ""
    note: str = ""
    instead: bool = False


def keep_fault(act: FaultAct, holder: Holder) -> VisitState:
    """Record the cause. Raises HeadMoved, UsageError, NotFound, InputError, StorageError."""
    guide = holder.services.shelf.faults()
    if not act.cause:
        raise UsageError("say what it was; choose a cause")
    evidence = FaultAsk.query(act.known).known(guide)
    request = RecordFault(act.visit, guide, act.cause, evidence, act.by, act.note, act.instead)
    return record_fault(request, desk=_desk(act, holder))


def _desk(act: Act | FaultAct, holder: Holder) -> Desk:
    if not act.head:
        raise UsageError("the journal's head is missing; load the visit and send its head along")
    return desk_at(holder.services.desk, act.visit, act.head)
