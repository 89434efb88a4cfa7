"""What became of a vehicle that got a new version, from its visits: failed, passed, or not known.

A failure, from the moment the version was installed on, whatever its cause may be: footage with
faults in a visit's last proof; a fault whose cause was found; a setting other than agreed in the
last comparison of a closed visit; another version put back. Passed: the visit that installed it is
closed, its last proof says that it records, its last comparison left nothing open, and the hold
time went by. What was not proved or compared is could-not-tell, never passed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from asfound.model.difference import Verdict
from asfound.model.finding import ProofVerdict
from asfound.model.fleet import Vehicle
from asfound.model.rollout import Outcome, Rollout
from asfound.model.visit import VisitState

WRONG = frozenset({Verdict.MISSED, Verdict.WRONG, Verdict.EXTRA})


@dataclass(frozen=True, slots=True)
class VehicleOutcome:
    """One vehicle: installed ``firmware`` and the visit that says so ("": the fleet file).

    ``outcome``: None when the rollout has not reached it. ``since``: when the version was
    installed; ``until``: when its hold time ends; ``why``: in one line.
    """

    vehicle: Vehicle
    firmware: str
    visit: str
    outcome: Outcome | None = None
    why: str = ""
    since: datetime | None = None
    until: datetime | None = None


def vehicle_outcome(
    rollout: Rollout,
    vehicle: Vehicle,
    visits: Sequence[VisitState],
    start: datetime,
    now: datetime,
) -> VehicleOutcome:
    """The outcome by ``visits`` of this vehicle; those of another recorder do not count, nor do
    those opened before ``start``. Both times are aware."""
    fitted = vehicle.recorder
    own = [
        state
        for state in sorted(visits, key=lambda one: (one.opened_at, one.id))
        if (state.vehicle.recorder.map_id, state.vehicle.recorder.serial)
        == (fitted.map_id, fitted.serial)
    ]
    last = own[-1] if own else None
    firmware = (last.firmware_left if last else "") or fitted.firmware
    bare = VehicleOutcome(vehicle, firmware, last.id if last else "")
    at = next((n for n, state in enumerate(own) if _installs(rollout, state, start)), None)
    if at is None:
        return bare
    first, later = own[at], own[at + 1 :]
    since = _installed_at(first)
    until = first.closed_at + timedelta(days=rollout.hold_days) if first.closed_at else None
    outcome, why = _judged(rollout, first, later, since)
    if outcome is not Outcome.FAILED and (until is None or now < until):
        outcome = Outcome.WAITING
        why = f"visit {first.id} is still open" if until is None else "hold time runs"
    return VehicleOutcome(vehicle, firmware, bare.visit, outcome, why, since, until)


def _installs(rollout: Rollout, state: VisitState, start: datetime) -> bool:
    """True when the visit brought the version; one that found it there did not."""
    brought = state.firmware_left == rollout.target != state.firmware_found
    return brought and state.opened_at >= start


def _installed_at(state: VisitState) -> datetime:
    kinds = {step.id: step.kind for step in state.procedure.steps}
    done = [one.at for one in state.done if kinds.get(one.step) == "firmware"]
    return done[-1] if done else state.opened_at


def _judged(
    rollout: Rollout, first: VisitState, later: Sequence[VisitState], since: datetime
) -> tuple[Outcome, str]:
    unknown = ""
    for state in (first, *later):
        if bad := _failure(rollout, state, since):
            return Outcome.FAILED, f"{bad} (visit {state.id})"
        if state is first or state.proof is not None:
            unknown = unknown or _unknown(state, first)
    if unknown:
        return Outcome.COULD_NOT_TELL, unknown
    return Outcome.PASSED, "records as agreed, and the hold time went by"


def _failure(rollout: Rollout, state: VisitState, since: datetime) -> str:
    found = [fault for fault in state.faults if fault.at >= since]
    if state.proof is not None and state.proof.verdict is ProofVerdict.FAULTS:
        return "the footage has faults"
    if found:
        return f"a fault was found: {found[-1].title}"
    if state.firmware_left != rollout.target:
        return f"version {state.firmware_left} was put back"
    last = state.rounds[-1].difference if state.rounds else None
    if state.closed and last and (wrong := [one for one in last.fields if one.verdict in WRONG]):
        return f"closed with {wrong[0].label} other than agreed, {len(wrong)} in all"
    return ""


def _unknown(state: VisitState, first: VisitState) -> str:
    if state.proof is None:
        return f"visit {state.id} has no proof"
    if state.proof.verdict is not ProofVerdict.RECORDS:
        return f"the proof of visit {state.id} is unclear"
    last = state.rounds[-1].difference if state.rounds else None
    if state is first and last is None:
        return f"visit {state.id} has no comparison of the settings as left"
    if last is not None and last.open_items():
        return f"settings of visit {state.id} are in doubt"
    return ""
