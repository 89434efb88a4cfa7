"""Visit verbs on real jobs: plan, compare, and a proof of filmed recordings."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from tests.visit_kit import MAP, STANDARD, VALUES, VEHICLE, desk, no_difference, opened, reading

from asfound.demo.footage import Camera, Drive, Fault, film
from asfound.errors import GateShut, InputError, NotFound, RecordingError, UsageError
from asfound.jobs.check_settings import CheckSettings, check_settings, facts_of
from asfound.jobs.prove_clock_judge import ClockAsk
from asfound.jobs.visit_act import CloseVisit, OverrideGate, TickStep, close_visit, override, tick
from asfound.jobs.visit_check import check_visit
from asfound.jobs.visit_gates import unfinished
from asfound.jobs.visit_journal import Desk, load_visit
from asfound.jobs.visit_record import (
    RecordDifference,
    RecordPlan,
    RecordReading,
    record_as_found,
    record_difference,
    record_plan,
)
from asfound.jobs.visit_work import (
    ProveTools,
    VisitPlan,
    VisitProve,
    visit_compare,
    visit_expectation,
    visit_plan,
    visit_prove,
)
from asfound.model.finding import Kind, ProofVerdict
from asfound.model.fleet import Fleet, Standard
from asfound.ports.backends.ocr_rapid import RapidOcr
from asfound.ports.backends.pictures_pillow import PillowPictures
from asfound.ports.backends.video_av import AvVideo

PLAN = VisitPlan("", MAP, STANDARD, VEHICLE, "ada")


@pytest.fixture
def at(tmp_path: Path) -> Desk:
    return desk(tmp_path)


def inspected(at: Desk, values: dict[str, str]) -> str:
    """An inspection whose settings were read."""
    visit = opened(at, "inspection").id
    for step in ("locate", "power", "monitor"):
        tick(TickStep(visit, step, "ada"), desk=at)
    record_as_found(RecordReading(visit, MAP, reading(values, at), "ada"), desk=at)
    return visit


def filmed(folder: Path, *faults: Fault) -> Path:
    """Both cameras of the vehicle, as the settings promise them."""
    front = Camera(1, "FRONT", "road", 1280, 720, 6)
    door = Camera(2, "DOOR", "cab", 320, 192, 6, faults=faults)
    film(Drive(7, datetime(2026, 11, 25, 19, 50, tzinfo=UTC), 4.0, (front, door)), folder)
    return folder


def test_recordings_close_an_inspection_and_a_dead_camera_does_not(
    at: Desk, tmp_path: Path
) -> None:
    visit = inspected(at, VALUES | {"camera-2.record": "on"})
    tools = ProveTools(AvVideo(), PillowPictures())
    dead = VisitProve(visit, MAP, (filmed(tmp_path / "dead", Fault("black")),), "ada")
    with pytest.raises(GateShut, match="earlier step"):
        visit_prove(dead, desk=at, tools=tools)
    visit_compare(replace(PLAN, visit=visit), desk=at)
    state = visit_prove(dead, desk=at, tools=tools)
    assert state.proof is not None and state.proof.verdict is ProofVerdict.FAULTS
    assert Kind.BLACK in {finding.kind for _, finding in state.proof.findings()}
    assert not state.is_done("prove")
    tick(TickStep(visit, "prove", "ada"), desk=at)
    with pytest.raises(GateShut, match="the proof found faults: black on channel 2"):
        close_visit(CloseVisit(visit, "ada"), desk=at)
    good = VisitProve(visit, MAP, (filmed(tmp_path / "good"),), "ada")
    state = visit_prove(good, desk=at, tools=tools)
    assert state.proof is not None and state.proof.verdict is ProofVerdict.RECORDS, state.proof
    close_visit(CloseVisit(visit, "ada"), desk=at)
    found = check_visit(visit, store=at.store, blobs=at.blobs)
    assert found.faults == () and found.blobs > 8  # evidence and thumbnails count


def test_the_plan_is_held_against_what_the_fleet_promised(at: Desk) -> None:
    visit = inspected(at, VALUES | {"camera-2.record": "on"})
    plan = replace(PLAN, visit=visit)
    state = visit_plan(plan, desk=at)
    assert state.sums is None and state.target is not None, "no fleet, no sums"
    fleet = Fleet("F", "Europe/London", (VEHICLE,), (STANDARD,), 14, 31, 12.0)
    state = visit_plan(replace(plan, fleet=fleet), desk=at)
    assert state.target is not None
    facts = facts_of(fleet, VEHICLE, at.clock.now().year)
    request = CheckSettings(MAP, state.firmware_left, state.target.as_dict(), facts)
    assert state.sums == check_settings(request)
    again = visit_plan(replace(plan, fleet=fleet), desk=at)
    assert again.entries == state.entries, "looking changes nothing"
    assert check_visit(visit, store=at.store, blobs=at.blobs).faults == ()


def test_clocks_and_earlier_pictures_are_asked_for(at: Desk, tmp_path: Path) -> None:
    """The simulator writes the file's own time; of the first camera there is an earlier picture."""
    visit = inspected(at, VALUES | {"camera-2.record": "on"})
    visit_compare(replace(PLAN, visit=visit), desk=at)
    pictures = PillowPictures()
    shot = tmp_path / "earlier" / "ch1.jpg"
    shot.parent.mkdir()
    shot.write_bytes(pictures.encode_jpeg(np.full((360, 640, 3), 90, np.uint8)))
    folder = filmed(tmp_path / "clips")
    asked = VisitProve(visit, MAP, (folder,), "ada", clock=ClockAsk("+00:00"), references=(shot,))
    tools = ProveTools(AvVideo(), pictures, ocr=RapidOcr(1))
    state = visit_prove(asked, desk=at, tools=tools)
    assert state.proof is not None and state.proof.verdict is not ProofVerdict.RECORDS
    front, door = sorted(state.proof.recordings, key=lambda one: one.channel or 0)
    assert front.clock is not None and front.clock.offset_s is not None
    assert abs(front.clock.offset_s) <= 1.0
    assert not any("earlier picture" in line for line in front.unclear)
    assert any("earlier picture" in line for line in door.unclear), door.unclear


def test_paths_without_recordings_change_nothing(at: Desk, tmp_path: Path) -> None:
    visit = inspected(at, VALUES | {"camera-2.record": "on"})
    before = visit_compare(replace(PLAN, visit=visit), desk=at)
    tools = ProveTools(AvVideo(), PillowPictures())
    (tmp_path / "empty").mkdir()
    for path, error in ((tmp_path / "none.mp4", NotFound), (tmp_path / "empty", RecordingError)):
        with pytest.raises(error):
            visit_prove(VisitProve(visit, MAP, (path,), "ada"), desk=at, tools=tools)
    assert load_visit(visit, store=at.store, blobs=at.blobs) == before


def test_nothing_is_planned_before_something_was_read(at: Desk) -> None:
    state = opened(at)
    with pytest.raises(UsageError, match="nothing was read yet"):
        visit_plan(replace(PLAN, visit=state.id), desk=at)
    with pytest.raises(UsageError, match="plan first"):
        visit_expectation(state, MAP)


def test_planning_again_changes_nothing_unless_something_changed(at: Desk) -> None:
    visit = inspected(at, VALUES)
    compared = visit_compare(replace(PLAN, visit=visit), desk=at)
    assert visit_plan(replace(PLAN, visit=visit), desk=at) == compared
    other = Standard(MAP.id, {"camera-1.size": "CIF"}, {})
    state = visit_plan(replace(PLAN, visit=visit, standard=other), desk=at)
    assert state.target != compared.target and state.rounds[-1].difference is None


def test_a_standard_that_cannot_be_is_told_and_changes_nothing(at: Desk) -> None:
    visit = inspected(at, VALUES)
    before = load_visit(visit, store=at.store, blobs=at.blobs)
    wrong = Standard(MAP.id, {"camera-1.size": "4K"}, {})
    with pytest.raises(InputError, match="4K"):
        visit_plan(replace(PLAN, visit=visit, standard=wrong), desk=at)
    assert load_visit(visit, store=at.store, blobs=at.blobs) == before


def test_work_for_another_recorder_or_firmware_is_refused(at: Desk) -> None:
    visit = inspected(at, VALUES)
    with pytest.raises(UsageError, match="nothing to compare"):
        record_difference(RecordDifference(visit, no_difference(), "ada"), desk=at)
    state = visit_plan(replace(PLAN, visit=visit), desk=at)
    assert state.target is not None and state.sheet is not None
    other = replace(state.target, firmware="2.0")
    with pytest.raises(UsageError, match=r"firmware 1\.0, 2\.0, but 1\.0"):
        record_plan(RecordPlan(visit, other, state.sheet, "ada"), desk=at)
    stranger = replace(reading(VALUES, at), map_id="other")
    with pytest.raises(UsageError, match="not of a other"):
        record_as_found(RecordReading(visit, MAP, stranger, "ada"), desk=at)


def test_what_is_missing_before_a_step_is_finished(at: Desk) -> None:
    state = opened(at)
    steps = {step.kind: step for step in state.procedure.steps}
    assert unfinished(state, steps["check"]) is None
    for kind, word in {
        "read-as-found": "visit read", "settle": "visit doubts", "rekey": "visit rekey",
        "read-as-left": "visit compare", "prove": "visit prove", "close": "visit close",
    }.items():  # fmt: skip
        step = next(step for name, step in steps.items() if name == kind)
        assert word in str(unfinished(state, step))


def test_an_overridden_doubt_lets_the_settling_be_ticked(at: Desk) -> None:
    visit = opened(at).id
    for step in ("locate", "power", "monitor"):
        tick(TickStep(visit, step, "ada"), desk=at)
    known = {key: value for key, value in VALUES.items() if key != "camera-1.size"}
    unsure = reading(known, at, doubts={"camera-1.size": ("HD",)})
    record_as_found(RecordReading(visit, MAP, unsure, "ada"), desk=at)
    with pytest.raises(GateShut, match="not finished: 1 value not settled"):
        tick(TickStep(visit, "settle", "ada"), desk=at)
    for step in ("firmware", "reset"):
        why = "the monitor is broken; the standard covers it"
        override(OverrideGate(visit, step, "doubts-settled", "ada", why), desk=at)
    tick(TickStep(visit, "settle", "ada"), desk=at)
    tick(TickStep(visit, "firmware", "ada", "", "2.0", MAP), desk=at)
    state = tick(TickStep(visit, "reset", "ada"), desk=at)
    assert state.is_done("reset") and len(state.overrides) == 2
