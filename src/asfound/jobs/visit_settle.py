"""Visit verbs: settle a visit's doubts one after the other, each answer an entry of its own."""

from __future__ import annotations

from dataclasses import dataclass

from asfound.calc.settling import Settling, questions
from asfound.errors import GateShut, NotFound, UsageError
from asfound.jobs.visit_act import tick_settled
from asfound.jobs.visit_gates import require_open, step_for
from asfound.jobs.visit_journal import Book, Desk, named
from asfound.model.menu_map import MenuMap
from asfound.model.reading import Reading
from asfound.model.visit import Settled, VisitState


@dataclass(frozen=True, slots=True)
class TakeBack:
    """Put one settled field back in doubt; ``as_left`` as in ``visit_act.Settle``."""

    visit: str
    field: str
    by: str
    as_left: bool | None = None


@dataclass(frozen=True, slots=True)
class ToSettle:
    """A visit's open doubts, and the reading they are in (``as_left``: the last round's)."""

    session: Settling
    reading: Reading
    as_left: bool


def to_settle(state: VisitState, menu_map: MenuMap, as_left: bool | None = None) -> ToSettle:
    """What a person has to settle: of the settings as left when they were read, else as found.

    Raises UsageError when nothing was read, GateShut while the step is locked.
    """
    reading, settled, number = _present(state, as_left)
    if number is None:
        require_open(state, step_for(state, "settle"))
    known = {item.id for item in settled}
    return ToSettle(Settling(questions(reading, known, menu_map)), reading, number is not None)


def take_back(request: TakeBack, *, desk: Desk) -> VisitState:
    """Record that a settled value does not stand. Raises NotFound when it was not settled,
    GateShut when the settling step is done already."""
    book = Book(request.visit, desk)
    state, by = book.state, named(request.by)
    _, settled, number = _present(state, request.as_left)
    if request.field not in {item.id for item in settled}:
        raise NotFound(f"{request.field!r} was not settled; asfound visit doubts {state.id}")
    step = state.procedure.of_kind("settle")
    if number is None and step is not None and state.is_done(step.id):
        raise GateShut(f"step {step.id!r} is done; settle {request.field} with its right value")
    return book.write(by, "taken-back", {"field": request.field, "round": number})


def finish_settling(visit: str, by: str, *, desk: Desk) -> VisitState:
    """Tick the settling step off when no as-found value is in doubt any more."""
    return tick_settled(Book(visit, desk), named(by))


def _present(
    state: VisitState, as_left: bool | None
) -> tuple[Reading, tuple[Settled, ...], int | None]:
    """(reading, what is settled of it, its round's number; None: as found)."""
    if as_left is not False and state.rounds:
        last = state.rounds[-1]
        return last.reading, last.settled, len(state.rounds)
    if state.as_found is None or as_left:
        raise UsageError(f"nothing was read yet; asfound visit read {state.id} PHOTO...")
    return state.as_found, state.settled, None
