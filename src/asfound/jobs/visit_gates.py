"""Gates: may this step be done now? Pure functions of a visit's state, its holds included."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from asfound.errors import GateShut, UsageError
from asfound.jobs.firmware_gates import (
    choice_note,
    choice_shut,
    rollout_note,
    rollout_shut,
    still_covers,
)
from asfound.jobs.fold_secrets import outstanding, pending_removals
from asfound.jobs.visit_fold import unsettled
from asfound.model.finding import ProofVerdict
from asfound.model.procedure import GateKind, Step, StepKind
from asfound.model.visit import GateState, VisitState

NEVER_OVERRIDDEN: frozenset[GateKind] = frozenset({"no-hold"})
"""A hold is not passed over; it is released, with name and reason."""

NAMED = 4
"""How many ids a reason names before it says how many more there are."""


def gate_states(state: VisitState, step: Step) -> tuple[GateState, ...]:
    """Every gate of ``step``: whether it holds, why it is shut, whether it was overridden.

    An override covers what was known when it was given, not a later reading, comparison or
    proof.
    """
    return tuple(_gate(state, step, gate) for gate in step.gates)


def shut_gates(state: VisitState, step: Step) -> tuple[GateState, ...]:
    """The gates that keep ``step`` locked; empty when it may be done."""
    return tuple(
        gate for gate in gate_states(state, step) if not gate.holds and not gate.overridden
    )


def require_open(state: VisitState, step: Step) -> None:
    """Raises GateShut, saying why and what to do, unless ``step`` may be done."""
    shut = shut_gates(state, step)
    if shut:
        # What the danger is tells more than that a step before it is missing.
        first = next((gate for gate in shut if gate.gate != "steps-done"), shut[0])
        why = f"{first.why} (and {len(shut) - 1} more)" if len(shut) > 1 else first.why
        locked = f"step {step.id!r} ({step.title}) is locked: {why}"
        raise GateShut(f"{locked}; {way_out(state, step, first.gate)}")


def step_for(state: VisitState, kind: StepKind) -> Step:
    """The procedure's step of this kind. Raises UsageError when there is none."""
    step = state.procedure.of_kind(kind)
    if step is None:
        raise UsageError(
            f"procedure {state.procedure.id} has no step of kind {kind!r}; "
            "open a visit with another procedure for that"
        )
    return step


def way_out(state: VisitState, step: Step, gate: GateKind) -> str:
    """What to do about a shut gate: the command, and where one may, the override."""
    visit = state.id
    commands: dict[GateKind, str] = {
        "pages-read": f"asfound visit read {visit} PHOTO...",
        "doubts-settled": f"asfound visit doubts {visit} lists them",
        "no-hold": "asfound hold release HOLD --by NAME --reason WHY",
        "as-left-compared": f"asfound visit compare {visit}",
        "recording-proved": f"asfound visit prove {visit} PATH...",
        "secrets-hidden": f"asfound visit hide-secrets {visit} --by NAME",
        "firmware-chosen": f"asfound visit firmware {visit} --stick MOUNT --by NAME",
        "rollout-allows": "asfound rollout status FILE tells whose turn it is",
        "steps-done": f"asfound visit done {visit} STEP --by NAME",
    }
    if gate in NEVER_OVERRIDDEN:
        return commands[gate]
    return (
        f"{commands[gate]}, or asfound visit override {visit} {step.id} {gate} "
        "--by NAME --reason WHY"
    )


def unfinished(state: VisitState, step: Step) -> str | None:
    """What is missing before ``step`` can be ticked off, in one line; None when nothing is."""
    last = state.rounds[-1] if state.rounds else None
    match step.kind:
        case "read-as-found" if state.as_found is None:
            return f"no photographs were read; asfound visit read {state.id} PHOTO..."
        case "settle" if not excused(state, "doubts-settled"):
            why = _doubts_settled(state, step)
            return f"{why}; asfound visit doubts {state.id}" if why else None
        case "rekey" if state.sheet is None:
            return f"there is no re-key sheet yet; asfound visit rekey {state.id}"
        case "read-as-left" if last is None or last.difference is None:
            return f"nothing was compared yet; asfound visit compare {state.id}"
        case "prove" if state.proof is None:
            return f"no recordings were looked at; asfound visit prove {state.id} PATH..."
        case "close":
            return f"a visit is closed by `asfound visit close {state.id} --by NAME`"
    return None


def _gate(state: VisitState, step: Step, gate: GateKind) -> GateState:
    why = _WHY[gate](state, step)
    covers = _known_since(state, gate)
    overridden = gate not in NEVER_OVERRIDDEN and any(
        (item.step, item.gate) == (step.id, gate)
        and item.entry >= covers
        and (gate != "rollout-allows" or still_covers(state, item))
        for item in state.overrides
    )
    said = _NOTES[gate](state) if why is None and gate in _NOTES else ""
    return GateState(gate, why is None, why or "", overridden and why is not None, said)


def _known_since(state: VisitState, gate: GateKind) -> int:
    """The number of the entry that brought what ``gate`` looks at; 0 when nothing did."""
    if gate in ("pages-read", "doubts-settled"):
        return state.as_found_entry
    if gate == "as-left-compared":
        return state.rounds[-1].entry if state.rounds else 0
    if gate == "secrets-hidden":
        return state.secrets_entry
    if gate in ("firmware-chosen", "rollout-allows"):
        seen = state.stick.entry if state.stick and gate == "firmware-chosen" else 0
        return max(seen, state.choice.entry if state.choice else 0)
    return state.proof_entry if gate == "recording-proved" else 0


def excused(state: VisitState, gate: GateKind) -> bool:
    """True when somebody passed ``gate`` at some step, knowing what is known now."""
    return any(
        item.gate == gate and item.entry >= _known_since(state, gate) for item in state.overrides
    )


def _pages_read(state: VisitState, step: Step) -> str | None:
    if state.as_found is None:
        return "no page was read yet"
    missing = state.as_found.missing_pages
    if missing:
        return f"{_count(missing, 'page')} not read: {_some(missing)}"
    return None


def _doubts_settled(state: VisitState, step: Step) -> str | None:
    if state.as_found is None:
        return "no page was read yet"
    left = unsettled(state.as_found, state.settled)
    if left:
        return f"{_count(left, 'value')} not settled: {_some(left)}"
    return None


def _no_hold(state: VisitState, step: Step) -> str | None:
    active = [hold for hold in state.holds if hold.active]
    if active:
        return f"footage is held: {_some([f'{hold.id} ({hold.reason})' for hold in active])}"
    return None


def _as_left_compared(state: VisitState, step: Step) -> str | None:
    if not state.rounds:
        return "the settings as left were not read"
    difference = state.rounds[-1].difference
    if difference is None:
        return "the settings as left were not compared with the present target"
    if difference.firmware != state.firmware_left:
        return (
            f"compared for firmware {difference.firmware}, but {state.firmware_left} is installed"
        )
    still_open = [item.id for item in difference.open_items()]
    if still_open:
        return f"{_count(still_open, 'setting')} still open: {_some(still_open)}"
    return None


def _recording_proved(state: VisitState, step: Step) -> str | None:
    proof = state.proof
    if proof is None:
        return "no recordings were looked at since the last change"
    if proof.verdict is ProofVerdict.RECORDS:
        return None
    if proof.missing_channels:
        return f"no recording of channel {_some([str(n) for n in proof.missing_channels])}"
    found = [
        f"{finding.kind} on channel {recording.channel or '?'}"
        for recording, finding in proof.findings()
    ]
    unclear = [line for recording in proof.recordings for line in recording.unclear]
    if proof.verdict is ProofVerdict.FAULTS:
        return f"the proof found faults: {_some(found)}" if found else "the proof found faults"
    return f"the proof is unclear: {_some(unclear)}" if unclear else "the proof is unclear"


def _secrets_hidden(state: VisitState, step: Step) -> str | None:
    return secrets_shown(state)


def secrets_shown(state: VisitState) -> str | None:
    """That stored photographs show passwords, or may, in one line; None when none does."""
    shown = outstanding(state)
    if shown:
        known = [item for item in shown if item.placed]
        unsure = _count(shown[len(known) :], "photograph")
        if not known:
            return f"where {unsure} may show passwords could not be told"
        more = f", and {unsure} may" if len(known) < len(shown) else ""
        return (
            f"{_count(known, 'stored photograph')} {'shows' if len(known) == 1 else 'show'} "
            f"passwords or codes{more}"
        )
    waiting = pending_removals(state)
    if waiting:
        pictures = _count(waiting, "picture")
        return f"{pictures} with passwords, or that may show some, not deleted yet"
    return None


def _firmware_chosen(state: VisitState, step: Step) -> str | None:
    return choice_shut(state)


def _rollout_allows(state: VisitState, step: Step) -> str | None:
    return rollout_shut(state)


def _steps_done(state: VisitState, step: Step) -> str | None:
    ids = [item.id for item in state.procedure.steps]
    before = ids[: ids.index(step.id)] if step.id in ids else ids
    missing = [name for name in before if not state.is_done(name)]
    if missing:
        return f"{_count(missing, 'earlier step')} not done: {_some(missing)}"
    return None


_WHY: Mapping[GateKind, Callable[[VisitState, Step], str | None]] = {
    "pages-read": _pages_read,
    "doubts-settled": _doubts_settled,
    "no-hold": _no_hold,
    "as-left-compared": _as_left_compared,
    "recording-proved": _recording_proved,
    "secrets-hidden": _secrets_hidden,
    "firmware-chosen": _firmware_chosen,
    "rollout-allows": _rollout_allows,
    "steps-done": _steps_done,
}

_NOTES: Mapping[GateKind, Callable[[VisitState], str]] = {
    "firmware-chosen": choice_note,
    "rollout-allows": rollout_note,
}


def _count(items: Sequence[object], what: str) -> str:
    return f"{len(items)} {what}{'' if len(items) == 1 else 's'}"


def _some(items: Sequence[str]) -> str:
    named = ", ".join(items[:NAMED])
    return f"{named} and {len(items) - NAMED} more" if len(items) > NAMED else named
