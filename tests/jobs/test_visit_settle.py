"""Settling one after the other: each answer an entry, taken back by another one."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.visit_kit import MAP, VALUES, desk, opened, reading

from asfound.errors import GateShut, NotFound, UsageError
from asfound.jobs.visit_act import Settle, TickStep, settle, tick
from asfound.jobs.visit_journal import Desk, load_visit
from asfound.jobs.visit_record import RecordReading, record_as_found
from asfound.jobs.visit_settle import TakeBack, finish_settling, take_back, to_settle
from asfound.model.visit import VisitState


@pytest.fixture
def at(tmp_path: Path) -> Desk:
    return desk(tmp_path)


def read(at: Desk) -> VisitState:
    visit = opened(at).id
    for step in ("locate", "power", "monitor"):
        tick(TickStep(visit, step, "ada"), desk=at)
    known = {key: value for key, value in VALUES.items() if key != "camera-1.size"}
    made = reading(known, at, doubts={"camera-1.size": ("HD", "CIF")})
    return record_as_found(RecordReading(visit, MAP, made, "ada"), desk=at)


def test_the_step_is_ticked_when_the_person_has_finished_and_not_before(at: Desk) -> None:
    state = read(at)
    asked = to_settle(state, MAP)
    assert [one.id for one in asked.session.questions] == ["camera-1.size"] and not asked.as_left
    state = settle(Settle(state.id, MAP, "camera-1.size", "CIF", "bo", tick=False), desk=at)
    assert not state.is_done("settle") and to_settle(state, MAP).session.questions == ()
    state = take_back(TakeBack(state.id, "camera-1.size", "bo"), desk=at)
    assert state.settled == () and len(to_settle(state, MAP).session.questions) == 1
    assert not finish_settling(state.id, "bo", desk=at).is_done("settle")
    settle(Settle(state.id, MAP, "camera-1.size", "HD", "bo", tick=False), desk=at)
    state = finish_settling(state.id, "bo", desk=at)
    assert state.is_done("settle") and state.as_found_values()["camera-1.size"] == "HD"
    kinds = [entry.kind for entry in at.store.entries(state.id)][-4:]
    assert kinds == ["settled", "taken-back", "settled", "step-done"]
    # Folded anew from the journal it is the same visit.
    assert load_visit(state.id, store=at.store, blobs=at.blobs) == state


def test_what_cannot_be_taken_back_is_said(at: Desk) -> None:
    state = read(at)
    with pytest.raises(NotFound, match="was not settled"):
        take_back(TakeBack(state.id, "camera-1.size", "bo"), desk=at)
    with pytest.raises(UsageError, match="nothing was read"):
        take_back(TakeBack(state.id, "camera-1.size", "bo", as_left=True), desk=at)
    settle(Settle(state.id, MAP, "camera-1.size", "HD", "bo"), desk=at)
    with pytest.raises(GateShut, match="'settle' is done"):
        take_back(TakeBack(state.id, "camera-1.size", "bo"), desk=at)


def test_nothing_read_nothing_to_settle(at: Desk) -> None:
    with pytest.raises(UsageError, match="nothing was read"):
        to_settle(opened(at), MAP)
