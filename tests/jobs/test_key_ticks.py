"""Ticks on the re-key sheet: durable, beside the journal, two people at once, a plan made anew."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.visit_kit import MAP, STANDARD, VALUES, VEHICLE, desk, opened, reading

from asfound.errors import NotFound, UsageError
from asfound.jobs.key_ticks import (
    TickKeys,
    clear_ticks,
    marks,
    sheet_progress,
    tick_keys,
    ticked,
)
from asfound.jobs.visit_act import CloseVisit, OverrideGate, TickStep, close_visit, override, tick
from asfound.jobs.visit_gates import shut_gates
from asfound.jobs.visit_journal import Desk
from asfound.jobs.visit_record import RecordReading, record_as_found
from asfound.jobs.visit_work import VisitPlan, visit_plan
from asfound.model.fleet import Standard
from asfound.model.visit import VisitState
from asfound.ports.backends.store_sql import SqlStore


@pytest.fixture
def at(tmp_path: Path) -> Desk:
    return desk(tmp_path, f"sqlite:///{tmp_path / 'asfound.db'}")


def planned(at: Desk, standard: Standard = STANDARD) -> VisitState:
    state = opened(at, "firmware-and-reset")
    for step in ("locate", "power", "monitor"):
        tick(TickStep(state.id, step, "ada"), desk=at)
    record_as_found(RecordReading(state.id, MAP, reading(VALUES, at), "ada"), desk=at)
    return visit_plan(VisitPlan(state.id, MAP, standard, VEHICLE, "ada"), desk=at)


def test_ticks_outlive_the_program_and_leave_the_journal_alone(at: Desk, tmp_path: Path) -> None:
    state = planned(at)
    first, *others = marks(state)
    assert others, "the small recorder has several settings to key in"
    tick_keys(TickKeys(state.id, first, "ada"), desk=at)
    again = SqlStore(f"sqlite:///{tmp_path / 'asfound.db'}")
    assert {name: item.by for name, item in ticked(state, again).items()} == {first: "ada"}
    assert again.heads([state.id])[state.id] == (state.entries, state.head)


def test_two_people_who_tick_at_once_both_count(at: Desk) -> None:
    state = planned(at)
    first, second = list(marks(state))[:2]
    stamps = {at.store.ticks_stamp(state.id)}
    for mark, by in ((first, "ada"), (second, "bo"), (first, "bo")):
        tick_keys(TickKeys(state.id, mark, by), desk=at)
        stamps.add(at.store.ticks_stamp(state.id))
    assert set(ticked(state, at.store)) == {first, second}
    assert len(stamps) == 4, "every change is news"
    tick_keys(TickKeys(state.id, first, "ada", done=False), desk=at)
    assert set(ticked(state, at.store)) == {second}
    assert at.store.ticks_stamp(state.id) not in stamps


def test_what_is_left_adds_up(at: Desk) -> None:
    state = planned(at)
    sheet = state.sheet
    assert sheet is not None
    nothing = sheet_progress(state, {})
    assert (nothing.presses_left, nothing.seconds_left) == (sheet.presses, sheet.seconds)
    for mark in marks(state):
        tick_keys(TickKeys(state.id, mark, "ada"), desk=at)
    everything = sheet_progress(state, ticked(state, at.store))
    assert (everything.done, everything.presses_left, everything.seconds_left) == (
        everything.fields, 0, 0.0,
    )  # fmt: skip
    clear_ticks(state.id, "ada", desk=at)
    assert sheet_progress(state, ticked(state, at.store)) == nothing


def test_a_plan_made_anew_keeps_the_ticks_of_what_it_still_asks_for(at: Desk) -> None:
    state = planned(at)
    for mark in marks(state):
        tick_keys(TickKeys(state.id, mark, "ada"), desk=at)
    other = Standard(MAP.id, STANDARD.baseline, {"city": {"camera-1.size": "CIF"}})
    after = visit_plan(VisitPlan(state.id, MAP, other, VEHICLE, "ada"), desk=at)
    kept = {marks(after)[mark].id for mark in ticked(after, at.store)}
    assert kept == {field.id for field in marks(state).values()} - {"camera-1.size"}
    gone = next(mark for mark, field in marks(state).items() if field.id == "camera-1.size")
    with pytest.raises(NotFound, match="plan has changed"):
        tick_keys(TickKeys(state.id, gone, "ada"), desk=at)


def test_without_a_plan_or_a_name_nothing_is_ticked(at: Desk) -> None:
    state = opened(at)
    with pytest.raises(UsageError, match="nothing was planned"):
        tick_keys(TickKeys(state.id, "0" * 24, "ada"), desk=at)
    with pytest.raises(UsageError, match="who did it"):
        tick_keys(TickKeys(state.id, "0" * 24, " "), desk=at)


def test_a_closed_visit_takes_no_ticks(at: Desk) -> None:
    state = planned(at)
    closing = state.procedure.of_kind("close")
    assert closing is not None
    for gate in shut_gates(state, closing):
        override(OverrideGate(state.id, closing.id, gate.gate, "ada", "why"), desk=at)
    close_visit(CloseVisit(state.id, "ada"), desk=at)
    with pytest.raises(UsageError, match="closed"):
        tick_keys(TickKeys(state.id, next(iter(marks(state))), "ada"), desk=at)
