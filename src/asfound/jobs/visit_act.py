"""What a person does in a visit: settle, tick off, override, note, close. Each is an entry."""

from __future__ import annotations

from dataclasses import dataclass

from asfound.calc.drive_names import same_serial, serial_fault
from asfound.calc.open_values import unlisted, value_problem
from asfound.calc.plain_text import code, unseen
from asfound.errors import GateShut, NotFound, UsageError
from asfound.jobs.firmware_gates import turn_now, version_shut
from asfound.jobs.visit_fold import unsettled
from asfound.jobs.visit_gates import (
    NEVER_OVERRIDDEN,
    excused,
    gate_states,
    require_open,
    shut_gates,
    step_for,
    unfinished,
    way_out,
)
from asfound.jobs.visit_journal import Book, Desk, named, reasoned, tidy
from asfound.model.menu_map import MenuMap
from asfound.model.procedure import GateKind, Step, StepKind
from asfound.model.visit import VisitState


@dataclass(frozen=True, slots=True)
class Settle:
    """Settle one field of the latest reading (as left when there is one, else as found).

    ``as_left`` False settles the as-found reading although there is an as-left one. ``tick``
    False leaves the settling step alone although this was the last doubt.
    """

    visit: str
    menu_map: MenuMap
    field: str
    value: str
    by: str
    as_left: bool | None = None
    tick: bool = True


@dataclass(frozen=True, slots=True)
class TickStep:
    """Tick a step off. ``firmware`` is the version that a firmware step left installed,
    ``drive_out`` and ``drive_in`` are serial numbers that a drive step may say."""

    visit: str
    step: str
    by: str
    note: str = ""
    firmware: str | None = None
    menu_map: MenuMap | None = None
    drive_out: str = ""
    drive_in: str = ""


@dataclass(frozen=True, slots=True)
class OverrideGate:
    """Pass one gate of one step although it does not hold."""

    visit: str
    step: str
    gate: str
    by: str
    reason: str


@dataclass(frozen=True, slots=True)
class AddNote:
    """Write something down, at a step when ``step`` is given."""

    visit: str
    by: str
    note: str
    step: str = ""


@dataclass(frozen=True, slots=True)
class CloseVisit:
    """Close the visit by its closing step."""

    visit: str
    by: str
    note: str = ""


def settle(request: Settle, *, desk: Desk) -> VisitState:
    """Record a person's value. Raises UsageError when it is not canonical for the field; one
    that a drafted map does not list yet is taken, and the entry says so."""
    book = Book(request.visit, desk)
    state = book.state
    by = named(request.by)
    number = len(state.rounds) if request.as_left is not False and state.rounds else None
    if request.as_left and number is None:
        raise UsageError("no settings as left were read; asfound visit read VISIT --as-left")
    reading = state.rounds[-1].reading if number else state.as_found
    if reading is None:
        raise UsageError(f"nothing was read yet; asfound visit read {state.id} PHOTO...")
    if number is None:
        require_open(state, step_for(state, "settle"))
    if request.field not in {field.id for field in reading.fields}:
        raise NotFound(
            f"the reading has no field {request.field!r}; asfound visit doubts {state.id}"
        )
    field = request.menu_map.field(request.field)
    wrong = value_problem(field.type, field.drafted, request.value)
    if wrong is None and (bad := unseen(request.value)):
        wrong = f"the value holds the unseen character {code(bad)}"
    if wrong is not None:
        raise UsageError(f"{request.field}: {wrong}; settle it with a value the recorder shows")
    data: dict[str, object] = {"field": request.field, "value": request.value, "round": number}
    if unlisted(field.type, field.drafted, request.value):
        data["unlisted"] = True
    state = book.write(by, "settled", data)
    return tick_settled(book, by) if number is None and request.tick else state


def tick_settled(book: Book, by: str) -> VisitState:
    """Tick the settling step when every as-found value is known."""
    state = book.state
    if state.as_found is None or unsettled(state.as_found, state.settled):
        return state
    return tick_if_ready(book, "settle", by, f"{len(state.settled)} settled by hand")


def tick(request: TickStep, *, desk: Desk) -> VisitState:
    """Tick a step off. Raises NotFound, UsageError, GateShut (locked, or not finished)."""
    book = Book(request.visit, desk)
    state, by = book.state, named(request.by)
    step = state.procedure.step(request.step)
    if state.is_done(step.id):
        raise UsageError(f"step {step.id!r} is done already; asfound visit show {state.id}")
    require_open(state, step)
    missing = unfinished(state, step)
    if missing is not None:
        raise GateShut(f"step {step.id!r} ({step.title}) is not finished: {missing}")
    drives = _drives(request, step)
    if (step.kind == "firmware") != (request.firmware is not None):
        raise UsageError(
            "say which version the recorder shows now: --firmware VERSION"
            if step.kind == "firmware"
            else f"step {step.id!r} installs no firmware; leave --firmware out"
        )
    if request.firmware is not None:
        menu_map = request.menu_map
        if menu_map is None or not menu_map.has_firmware(request.firmware):
            if menu_map is None:
                raise UsageError(f"no menu map describes firmware {request.firmware!r}")
            raise UsageError(
                f"no menu map describes firmware {request.firmware!r}; "
                f"the map knows {', '.join(menu_map.firmware)}"
            )
        other = version_shut(state, request.firmware)
        if other is not None and not excused(state, "firmware-chosen"):
            raise GateShut(f"step {step.id!r} ({step.title}) is not finished: {other}")
        book.write(by, "firmware-left", {"firmware": request.firmware})
    return book.write(by, "step-done", {"step": step.id, "note": tidy(request.note), **drives})


def _drives(request: TickStep, step: Step) -> dict[str, str]:
    """Which drive came out and which went in, as far as it was said. Raises UsageError."""
    given = {"drive_out": tidy(request.drive_out), "drive_in": tidy(request.drive_in)}
    said = {name: serial for name, serial in given.items() if serial}
    if said and step.kind != "drive":
        raise UsageError(f"step {step.id!r} changes no drive; leave --drive-out, --drive-in out")
    for serial in said.values():
        wrong = serial_fault(same_serial(serial))
        if wrong:
            raise UsageError(f"serial number {serial!r}: {wrong}; copy it from the drive's label")
    return said


def tick_if_ready(book: Book, kind: StepKind, by: str, note: str) -> VisitState:
    """Tick the step of this kind when the work just recorded has finished it."""
    state = book.state
    step = state.procedure.of_kind(kind)
    if step is None or state.is_done(step.id) or shut_gates(state, step):
        return state
    if unfinished(state, step) is not None:
        return state
    return book.write(by, "step-done", {"step": step.id, "note": note})


def override(request: OverrideGate, *, desk: Desk) -> VisitState:
    """Record who passes a shut gate, and why. Raises UsageError, NotFound."""
    book = Book(request.visit, desk)
    state = book.state
    by, reason = named(request.by), reasoned(request.reason)
    step = state.procedure.step(request.step)
    gates = {gate.gate: gate for gate in gate_states(state, step)}
    gate = next((item for name, item in gates.items() if name == request.gate), None)
    if gate is None:
        known = ", ".join(gates) or "none"
        raise NotFound(f"step {step.id!r} has no gate {request.gate!r}; it has {known}")
    kind: GateKind = gate.gate
    if kind in NEVER_OVERRIDDEN:
        never = f"gate {kind!r} is never overridden"
        raise UsageError(f"{never}; {way_out(state, step, kind)}")
    if gate.holds or gate.overridden:
        raise UsageError(f"gate {kind!r} of step {step.id!r} is open; nothing to override")
    data = {"step": step.id, "gate": kind, "reason": reason, "why": gate.why}
    if kind == "rollout-allows":
        data["turn"] = str(turn_now(state))
    return book.write(by, "overridden", data)


def note(request: AddNote, *, desk: Desk) -> VisitState:
    """Write a note down. Raises UsageError when it is empty, NotFound for an unknown step."""
    book = Book(request.visit, desk)
    text = tidy(request.note)
    if not text:
        raise UsageError("the note is empty; write what you saw")
    if request.step:
        book.state.procedure.step(request.step)
    return book.write(named(request.by), "noted", {"step": request.step, "note": text})


def close_visit(request: CloseVisit, *, desk: Desk) -> VisitState:
    """Close the visit; it takes no more entries. Raises GateShut while a gate is shut."""
    book = Book(request.visit, desk)
    by = named(request.by)
    step = step_for(book.state, "close")
    require_open(book.state, step)
    return book.write(by, "closed", {"step": step.id, "note": tidy(request.note)})
