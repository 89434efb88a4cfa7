"""Visit verbs: plan, compare and prove for a visit, and record what came out."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from asfound.errors import UsageError
from asfound.jobs.build_target import BuildTarget, build_target
from asfound.jobs.check_settings import CheckSettings, check_settings, facts_of
from asfound.jobs.compare import Compare, compare
from asfound.jobs.expect import expect_from_target
from asfound.jobs.plan_rekey import PlanRekey, plan_rekey
from asfound.jobs.prove import Prove, prove
from asfound.jobs.prove_age import last_change, with_age
from asfound.jobs.prove_clock_judge import ClockAsk
from asfound.jobs.prove_files import Helpers
from asfound.jobs.visit_gates import require_open, step_for
from asfound.jobs.visit_journal import Desk, load_visit, named
from asfound.jobs.visit_record import (
    RecordDifference,
    RecordPlan,
    RecordProof,
    check_as_left,
    record_difference,
    record_plan,
    record_proof,
    record_same_as_found,
)
from asfound.model.finding import Expectation
from asfound.model.fleet import Fleet, Standard, Vehicle
from asfound.model.menu_map import MenuMap
from asfound.model.sums import SettingsChecked
from asfound.model.target import Target
from asfound.model.visit import VisitState
from asfound.ports.ocr import Ocr
from asfound.ports.pictures import Pictures
from asfound.ports.progress import Progress, silent
from asfound.ports.video import Video

NO_CLOCK = ClockAsk()
"""Nothing is asked about burned-in clocks."""


@dataclass(frozen=True, slots=True)
class VisitPlan:
    """Plan target and re-key sheet; standard and vehicle are the fleet's as they are now. The
    target is held against what the ``fleet`` promised (None: it is not)."""

    visit: str
    menu_map: MenuMap
    standard: Standard
    vehicle: Vehicle
    by: str
    fleet: Fleet | None = None


@dataclass(frozen=True, slots=True)
class VisitProve:
    """Look at recordings for a visit; what is expected comes from the plan. ``clock``,
    ``references`` and ``whole`` as in jobs/prove.py."""

    visit: str
    menu_map: MenuMap
    paths: tuple[Path, ...]
    by: str
    pattern: str = ""
    clock: ClockAsk = NO_CLOCK
    references: tuple[Path, ...] = ()
    whole: bool = False


@dataclass(frozen=True, slots=True)
class ProveTools:
    """What looking at recordings needs; without ``ocr`` burned-in clocks are not read."""

    video: Video
    pictures: Pictures
    helpers: Helpers = field(default_factory=Helpers)
    ocr: Ocr | None = None


def visit_plan(request: VisitPlan, *, desk: Desk) -> VisitState:
    """Build the target from standard, vehicle and as-found values, plan the sheet, record both.

    A plan that comes out as it stands already is not recorded again: looking changes nothing.
    Raises UsageError while nothing was read, and what the two jobs raise.
    """
    state = load_visit(request.visit, store=desk.store, blobs=desk.blobs)
    if state.as_found is None:
        raise UsageError(f"nothing was read yet; asfound visit read {state.id} PHOTO...")
    target = build_target(
        BuildTarget(
            request.menu_map,
            state.firmware_left,
            request.standard,
            request.vehicle.vehicle_class,
            request.vehicle.overrides,
            state.as_found_values(),
            state.firmware_found,
        )
    )
    sheet = plan_rekey(
        PlanRekey(request.menu_map, state.firmware_left, target, state.firmware_found)
    )
    sums = _sums(request, state, target, desk.clock.now().year)
    if (target, sheet, sums) == (state.target, state.sheet, state.sums):
        return state
    return record_plan(RecordPlan(request.visit, target, sheet, request.by, sums), desk=desk)


def _sums(
    request: VisitPlan, state: VisitState, target: Target, year: int
) -> SettingsChecked | None:
    """The target against the sums, by what the fleet promised."""
    if request.fleet is None:
        return None
    facts = facts_of(request.fleet, request.vehicle, year)
    return check_settings(
        CheckSettings(request.menu_map, state.firmware_left, target.as_dict(), facts)
    )


def visit_compare(request: VisitPlan, *, desk: Desk) -> VisitState:
    """Compare the latest as-left round with the plan, which is made first when there is none.

    Where the procedure changes nothing, the as-found reading stands for the as-left one.
    """
    state = load_visit(request.visit, store=desk.store, blobs=desk.blobs)
    check_as_left(state)
    if not state.rounds:
        state = record_same_as_found(request.visit, request.by, desk=desk)
    if state.target is None:
        state = visit_plan(request, desk=desk)
    if state.target is None:
        raise UsageError(f"visit {state.id} has no plan; asfound visit rekey {state.id}")
    last = state.rounds[-1]
    difference = compare(
        Compare(
            request.menu_map,
            state.firmware_left,
            state.target,
            last.reading,
            {item.id: item.value for item in last.settled},
        )
    )
    return record_difference(RecordDifference(request.visit, difference, request.by), desk=desk)


def visit_expectation(state: VisitState, menu_map: MenuMap) -> Expectation:
    """What the visit's recordings are held against. Raises UsageError without a plan."""
    if state.target is None:
        raise UsageError(
            f"nothing says what should be recorded; plan first: asfound visit rekey {state.id}"
        )
    return expect_from_target(menu_map, state.target, state.vehicle.cameras)


def visit_prove(
    request: VisitProve, *, desk: Desk, tools: ProveTools, progress: Progress = silent
) -> VisitState:
    """Look at the recordings and record the proof; those made before the recorder was last
    changed, or stamped in the future, are unclear.

    Raises GateShut before anything is decoded when the step is locked, UsageError without a
    plan, and what ``prove`` raises.
    """
    by = named(request.by)
    state = load_visit(request.visit, store=desk.store, blobs=desk.blobs)
    require_open(state, step_for(state, "prove"))
    expectation = visit_expectation(state, request.menu_map)
    proof = prove(
        Prove(
            request.paths,
            expectation,
            request.pattern,
            request.clock,
            request.references,
            request.whole,
            desk.clock.now(),
        ),
        video=tools.video,
        pictures=tools.pictures,
        blobs=desk.blobs,
        progress=progress,
        helpers=tools.helpers,
        ocr=tools.ocr,
    )
    aged = with_age(proof, last_change(state), desk.clock.now())
    return record_proof(RecordProof(request.visit, aged, by), desk=desk)
