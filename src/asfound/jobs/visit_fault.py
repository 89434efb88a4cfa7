"""Visit verb: record what a fault came from, so that later visits learn from it."""

from __future__ import annotations

from dataclasses import dataclass

from asfound.errors import UsageError
from asfound.jobs.find_fault import Evidence
from asfound.jobs.visit_journal import Book, Desk, named, tidy
from asfound.model.fault_found import KIND
from asfound.model.fault_guide import OTHER, YES, FaultGuide
from asfound.model.visit import VisitState


@dataclass(frozen=True, slots=True)
class RecordFault:
    """``cause``: what was repaired and helped, by its id in ``guide``. ``evidence``: what led
    there. ``instead``: the visit's last record was wrong, this one takes its place."""

    visit: str
    guide: FaultGuide
    cause: str
    evidence: Evidence
    by: str
    note: str = ""
    instead: bool = False


def record_fault(request: RecordFault, *, desk: Desk) -> VisitState:
    """Record the cause. Raises UsageError (closed, no name, contradictory), NotFound (no such
    cause, symptom or check), StorageError."""
    by, note, guide = named(request.by), tidy(request.note), request.guide
    cause = guide.cause(request.cause)
    if cause.id == OTHER and not note:
        raise UsageError("say in a note what it was, since it is none of the causes listed")
    if cause.id in request.evidence.tried:
        raise UsageError(f"{cause.id} was repaired in vain; it cannot be the cause as well")
    for name, outcome in request.evidence.steps:
        guide.question(name).told(outcome)
    for name in request.evidence.tried:
        guide.cause(name)
    book = Book(request.visit, desk)
    if request.instead and not book.state.faults:
        raise UsageError(f"visit {request.visit} has no earlier record to put this one in place of")
    symptoms = [name for name, outcome in request.evidence.reported if outcome == YES]
    steps = [(name, told) for name, told in request.evidence.reported if told != YES]
    data: dict[str, object] = {
        "cause": cause.id,
        "title": cause.title,
        "guide": guide.id,
        "symptoms": symptoms,
        "checks": [
            {"check": name, "outcome": told} for name, told in (*steps, *request.evidence.checked)
        ],
        "tried": list(request.evidence.tried),
        "note": note,
    }
    if request.instead:
        data["instead"] = True
    return book.write(by, KIND, data)
