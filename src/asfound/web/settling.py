"""Settling doubts on pages and by programs: one answer, one entry, against the head that was seen.

A page's way back is written in its address: ``past`` lists what was answered and, with ``~``
before it, skipped, oldest first. So undo is exact, survives a reload, and needs no store.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from asfound.calc.settling import Question
from asfound.calc.typed_value import typed_value
from asfound.errors import NotFound, UsageError
from asfound.jobs.visit_act import Settle, settle
from asfound.jobs.visit_journal import Desk, load_visit
from asfound.jobs.visit_settle import TakeBack, finish_settling, take_back, to_settle
from asfound.model.kinds import Secret
from asfound.model.menu_map import MenuMap
from asfound.model.values import problem
from asfound.model.visit import Settled, VisitState
from asfound.web.heads import desk_at
from asfound.web.services import Services

SKIP = "~"
MOST_PAST = 60


@dataclass(frozen=True, slots=True)
class Undo:
    """What undo would do: ask ``label`` again; ``settled`` when an answer is taken back."""

    field: str
    label: str
    settled: bool


@dataclass(frozen=True, slots=True)
class DoubtsView:
    """A visit's open doubts. ``question`` is asked now, None when none is left; ``number`` of
    ``total``; ``skipped`` are still open. ``may_blank``: nothing at all is a value of it.
    ``may_finish``: the settling step waits to be ticked off."""

    state: VisitState
    as_left: bool
    questions: tuple[Question, ...]
    question: Question | None
    past: tuple[str, ...]
    number: int
    total: int
    skipped: int
    missing: int
    may_blank: bool
    undo: Undo | None
    may_finish: bool


@dataclass(frozen=True, slots=True)
class Answer:
    """A person's answer to a doubt, or None values to take one back. ``text`` is as it was typed,
    ``value`` canonical. ``as_left`` None: of the settings that were read last."""

    visit: str
    head: str
    by: str
    field: str
    value: str | None = None
    text: str | None = None
    as_left: bool | None = None


def doubts_view(
    visit: str, as_left: bool | None, past: tuple[str, ...], by: str, services: Services
) -> DoubtsView:
    """What is to be settled. Raises NotFound, GateShut, UsageError (nothing was read)."""
    state, menu_map = _loaded(visit, services)
    asked = to_settle(state, menu_map, as_left)
    open_now = asked.session.questions
    known = {field.id: field.label for field in asked.reading.fields}
    past = tuple(item for item in past if item.removeprefix(SKIP) in known)[-MOST_PAST:]
    skipped = {item[1:] for item in past if item.startswith(SKIP)}
    still = {one.id for one in open_now}
    question = next((one for one in open_now if one.id not in skipped), None)
    answered = sum(not item.startswith(SKIP) and item not in still for item in past)
    away = sum(one.id in skipped for one in open_now)
    step = state.procedure.of_kind("settle")
    return DoubtsView(
        state,
        asked.as_left,
        open_now,
        question,
        past,
        answered + away + 1,
        answered + len(open_now),
        away,
        len(asked.reading.missing_pages),
        question is not None and not question.secret and problem(question.kind, "") is None,
        _undo(past, known, settled_of(state, asked.as_left), by),
        not open_now
        and not asked.as_left
        and step is not None
        and not state.is_done(step.id)
        and not asked.reading.missing_pages,
    )


def settled_of(state: VisitState, as_left: bool) -> tuple[Settled, ...]:
    """What was settled by hand of the settings as found, or of the last round."""
    return state.rounds[-1].settled if as_left and state.rounds else state.settled


def give(answer: Answer, services: Services) -> VisitState:
    """Settle the field. Raises HeadMoved, UsageError (no value of the field), what the job
    raises. What was typed for a secret is never repeated."""
    state, menu_map = _loaded(answer.visit, services)
    field = menu_map.field(answer.field)
    value = answer.value
    if answer.text is not None:
        value, why = typed_value(field.type, answer.text, field.drafted)
        if value is None and not isinstance(field.type, Secret):
            raise UsageError(f"{field.label}: {why}")
    if isinstance(field.type, Secret) and value not in ("set", "blank"):
        raise UsageError(f"{field.label}: only set or blank is kept, never the password itself")
    if value is None:
        raise UsageError(f"{field.label}: type a value, or choose one")
    request = Settle(state.id, menu_map, answer.field, value, answer.by, answer.as_left, tick=False)
    return settle(request, desk=_desk(answer, services))


def undo(answer: Answer, services: Services) -> VisitState:
    """Take the field's value back. Raises HeadMoved, NotFound, GateShut, StorageError."""
    request = TakeBack(answer.visit, answer.field, answer.by, answer.as_left)
    return take_back(request, desk=_desk(answer, services))


def finish(answer: Answer, services: Services) -> VisitState:
    """Tick the settling step off. Raises HeadMoved, UsageError while something is in doubt."""
    state, menu_map = _loaded(answer.visit, services)
    if to_settle(state, menu_map, False).session.questions:
        raise UsageError("something is still in doubt; settle it first")
    return finish_settling(answer.visit, answer.by, desk=_desk(answer, services))


def blank_of(field_id: str, visit: str, services: Services) -> str:
    """The value that "nothing" is for a field. Raises NotFound."""
    _, menu_map = _loaded(visit, services)
    return "blank" if isinstance(menu_map.field(field_id).type, Secret) else ""


def _undo(
    past: tuple[str, ...], known: Mapping[str, str], settled: tuple[Settled, ...], by: str
) -> Undo | None:
    """The last act of this page; else the last answer of the same person."""
    ids = {item.id for item in settled}
    for item in reversed(past):
        name = item.removeprefix(SKIP)
        if item.startswith(SKIP) or name in ids:
            return Undo(name, known[name], not item.startswith(SKIP))
    mine = [item for item in settled if item.by == by]
    if not mine:
        return None
    return Undo(mine[-1].id, known.get(mine[-1].id, mine[-1].id), True)


def _loaded(visit: str, services: Services) -> tuple[VisitState, MenuMap]:
    state = load_visit(visit, store=services.desk.store, blobs=services.desk.blobs)
    return state, services.shelf.menu_map(state.vehicle.recorder.map_id)


def _desk(answer: Answer, services: Services) -> Desk:
    if not answer.head:
        raise UsageError("the journal's head is missing; load the visit and send its head along")
    if not answer.field and answer.value is not None:
        raise NotFound("no field was named")
    return desk_at(services.desk, answer.visit, answer.head)
