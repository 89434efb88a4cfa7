"""Gates as a table: which facts open which gate, and that nothing else does."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.visit_kit import VEHICLE, procedure

from asfound.errors import GateShut, UsageError
from asfound.jobs.visit_gates import (
    NEVER_OVERRIDDEN,
    gate_states,
    require_open,
    shut_gates,
    step_for,
)
from asfound.model.difference import Difference, FieldDifference, Verdict
from asfound.model.finding import Proof, ProofVerdict, Recording
from asfound.model.hold import Hold
from asfound.model.procedure import REQUIRED_GATES, GateKind, Procedure, Step
from asfound.model.reading import FieldReading, Reading, State
from asfound.model.visit import Override, Round, Settled, StepDone, VisitState

NOW = datetime(2026, 11, 25, tzinfo=UTC)
GATES: tuple[GateKind, ...] = (
    "pages-read", "doubts-settled", "no-hold", "as-left-compared", "recording-proved",
    "steps-done",
)  # fmt: skip
FIRST = Step("first", "First", "Do it.", "check")
LAST = Step("last", "Last", "Do it.", "check", GATES)
BARE = VisitState("v", VEHICLE, "F", Procedure("p", "P", (FIRST, LAST)), "ada", NOW, "1.0", "1.0")
HOLD = Hold("h", "217", NOW, NOW, "claim", "office", NOW)


def read(*states: State, missing: tuple[str, ...] = ()) -> Reading:
    fields = tuple(
        FieldReading(f"f{n}", f"F{n}", "x", "x" if state is State.SURE else None, state)
        for n, state in enumerate(states)
    )
    return Reading("m", "1.0", (), fields, missing)


def left(*verdicts: Verdict, firmware: str = "1.0") -> tuple[Round, ...]:
    items = tuple(FieldDifference(f"f{n}", "F", v, "a", "b") for n, v in enumerate(verdicts))
    return (Round(read(State.SURE), (), Difference("m", firmware, items), NOW, 3),)


def proved(verdict: ProofVerdict) -> Proof:
    recording = Recording("f", 1, "h264", 1, 1, None, None, None, None, (), ("too short",))
    return Proof(verdict, (recording,), (2,) if verdict is ProofVerdict.FAULTS else ())


SURE, DOUBT, UNREAD = State.SURE, State.DOUBT, State.UNREAD
SETTLED = (Settled("f1", "x", "ada", NOW),)
VALUELESS = Reading("m", "1.0", (), (FieldReading("f0", "F", "", None, SURE),), ())

# The rules of DESIGN section 4 and of the service procedure: gate, facts, open or why not.
TABLE: list[tuple[GateKind, VisitState, str]] = [
    ("pages-read", BARE, "no page was read"),
    ("pages-read", replace(BARE, as_found=read(SURE, missing=("p7",))), "1 page not read: p7"),
    ("pages-read", replace(BARE, as_found=read(SURE, DOUBT)), ""),
    ("doubts-settled", BARE, "no page was read"),
    ("doubts-settled", replace(BARE, as_found=read(SURE, DOUBT)), "1 value not settled: f1"),
    ("doubts-settled", replace(BARE, as_found=read(SURE, UNREAD)), "1 value not settled: f1"),
    ("doubts-settled", replace(BARE, as_found=VALUELESS), "1 value not settled: f0"),
    ("doubts-settled", replace(BARE, as_found=read(SURE, DOUBT), settled=SETTLED), ""),
    ("doubts-settled", replace(BARE, as_found=read(*[DOUBT] * 7)), "f3 and 3 more"),
    ("no-hold", BARE, ""),
    ("no-hold", replace(BARE, holds=(HOLD,)), "footage is held: h (claim)"),
    ("no-hold", replace(BARE, holds=(replace(HOLD, released_at=NOW),)), ""),
    ("as-left-compared", BARE, "were not read"),
    ("as-left-compared", replace(BARE, rounds=(Round(read(SURE)),)), "were not compared"),
    ("as-left-compared", replace(BARE, rounds=left(Verdict.SAME, Verdict.CLOCK)), ""),
    ("as-left-compared", replace(BARE, rounds=left(Verdict.NO_TARGET)), ""),
    ("as-left-compared", replace(BARE, rounds=left(Verdict.MISSED)), "1 setting still open: f0"),
    ("as-left-compared", replace(BARE, rounds=left(Verdict.WRONG)), "still open"),
    ("as-left-compared", replace(BARE, rounds=left(Verdict.EXTRA)), "still open"),
    ("as-left-compared", replace(BARE, rounds=left(Verdict.DOUBT)), "still open"),
    (
        "as-left-compared",
        replace(BARE, rounds=left(Verdict.SAME, firmware="0.9")),
        "compared for firmware 0.9, but 1.0 is installed",
    ),
    ("recording-proved", BARE, "no recordings were looked at"),
    ("recording-proved", replace(BARE, proof=proved(ProofVerdict.RECORDS)), ""),
    ("recording-proved", replace(BARE, proof=proved(ProofVerdict.FAULTS)), "channel 2"),
    ("recording-proved", replace(BARE, proof=proved(ProofVerdict.UNCLEAR)), "too short"),
    ("recording-proved", replace(BARE, proof=Proof(ProofVerdict.UNCLEAR, ())), "unclear"),
    ("recording-proved", replace(BARE, proof=Proof(ProofVerdict.FAULTS, ())), "faults"),
    ("steps-done", BARE, "1 earlier step not done: first"),
    ("steps-done", replace(BARE, done=(StepDone("first", "ada", NOW),)), ""),
]  # fmt: skip


@pytest.mark.parametrize(("gate", "state", "why"), TABLE)
def test_what_opens_a_gate(gate: GateKind, state: VisitState, why: str) -> None:
    found = next(item for item in gate_states(state, LAST) if item.gate == gate)
    assert found.holds == (why == "")
    assert why in found.why and "\n" not in found.why
    if why:
        with pytest.raises(GateShut) as caught:
            require_open(state, replace(LAST, gates=(gate,)))
        text = str(caught.value)
        assert why in text and "asfound " in text and "\n" not in text
        assert ("override" in text) == (gate not in NEVER_OVERRIDDEN)
    else:
        require_open(state, replace(LAST, gates=(gate,)))


@pytest.mark.parametrize("gate", GATES)
@pytest.mark.parametrize("entry", [1, 9])
def test_an_override_covers_its_own_gate_and_step_and_what_was_known(
    gate: GateKind, entry: int
) -> None:
    state = replace(
        BARE, holds=(HOLD,), as_found=read(DOUBT, missing=("p",)), as_found_entry=5,
        rounds=left(Verdict.WRONG), proof=proved(ProofVerdict.FAULTS), proof_entry=5,
        overrides=(Override("last", gate, "ada", "why not", NOW, entry),),
    )  # fmt: skip
    passed = {item.gate for item in gate_states(state, LAST) if item.overridden}
    late_enough = entry == 9 or gate == "steps-done"
    allowed = gate not in NEVER_OVERRIDDEN and late_enough
    assert passed == ({gate} if allowed else set())
    assert not any(item.holds for item in gate_states(state, LAST))
    other = replace(LAST, id="other")
    assert not any(item.overridden for item in gate_states(state, other))


@given(
    st.sets(st.sampled_from(GATES)),
    st.sampled_from([None, *ProofVerdict]),
    st.lists(st.sampled_from(list(Verdict)), max_size=3),
    st.booleans(),
)
def test_a_step_is_open_exactly_when_each_of_its_gates_is(
    gates: set[GateKind], verdict: ProofVerdict | None, verdicts: list[Verdict], held: bool
) -> None:
    state = replace(
        BARE, holds=(HOLD,) if held else (), rounds=left(*verdicts),
        proof=proved(verdict) if verdict else None,
    )  # fmt: skip
    step = replace(LAST, gates=tuple(sorted(gates)))
    shut = {item.gate for item in shut_gates(state, step)}
    expected = {"pages-read", "doubts-settled", "steps-done"}
    expected |= {"no-hold"} if held else set()
    expected |= set() if verdict is ProofVerdict.RECORDS else {"recording-proved"}
    still_open = {Verdict.MISSED, Verdict.WRONG, Verdict.EXTRA, Verdict.DOUBT}
    expected |= {"as-left-compared"} if still_open & set(verdicts) else set()
    assert shut == gates & expected


@pytest.mark.parametrize("name", ["firmware-and-reset", "drive-swap", "inspection"])
def test_shipped_procedures_lock_what_can_destroy(name: str) -> None:
    made = procedure(name)
    for step in made.steps:
        assert set(REQUIRED_GATES.get(step.kind, ())) <= set(step.gates)
    if made.changes:
        fresh = replace(BARE, procedure=made, holds=(HOLD,))
        for step in made.steps:
            if step.kind in ("firmware", "reset", "drive", "close"):
                assert shut_gates(fresh, step)


def test_a_procedure_without_a_kind_of_step_says_so() -> None:
    with pytest.raises(UsageError, match="no step of kind 'prove'"):
        step_for(BARE, "prove")
