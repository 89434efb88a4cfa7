"""A drive's story, folded: custody from hand to hand, and the same state in whatever order logs
come together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.visit_kit import T0

from asfound.errors import IntegrityError
from asfound.jobs.drive_fold import fold_drive
from asfound.model.drive_register import DriveEvent, DriveState, Place

HOUR = timedelta(hours=1)
REGISTERED = {"serial": "S-1", "kind": "ssd", "bytes": 10, "model": "", "new": False, "vehicle": ""}
PEOPLE = ("ada", "bo", "cy")

Step = tuple[str, str, Mapping[str, Any]]


def story(*steps: Step, start: datetime = T0, writer: str = "w") -> list[DriveEvent]:
    """Events an hour apart."""
    return [
        DriveEvent(start + number * HOUR, writer, number, by, kind, {"reason": "r", **data})
        for number, (kind, by, data) in enumerate(steps)
    ]


def folded(*steps: Step) -> DriveState:
    return fold_drive("s-1", story(*steps))


def open_faults(state: DriveState) -> list[str]:
    return [one.kind for one in state.faults if not one.settled]


IN_217: Step = ("registered", "ada", {**REGISTERED, "vehicle": "217"})
IN_HAND: Step = ("registered", "ada", REGISTERED)
PULLED: Step = ("pulled", "ada", {"vehicle": "217"})
TO_BO: Step = ("handed", "ada", {"to": "bo", "head": "h", "where": "North depot"})
WIPED: Step = (
    "wiped", "bo", {"category": "purge", "method": "m", "tool": "t", "verified_by": "cy"},
)  # fmt: skip
RETIRED: Step = ("retired", "bo", {"how": "scrapped"})


def test_from_vehicle_to_scrap_without_a_gap() -> None:
    store: Step = ("put", "bo", {"place": "store", "where": "shelf 2"})
    state = folded(IN_217, PULLED, TO_BO, store, WIPED, RETIRED)
    assert state.faults == () and state.place is Place.GONE
    assert [(one.vehicle, one.start, one.end) for one in state.stays] == [("217", None, T0 + HOUR)]
    assert state.proof is not None and state.proof.verified_by == "cy"
    assert state.hands[0].giver == "ada" and state.hands[0].receiver == "bo"
    assert (state.since, state.retired_how) == (T0 + 5 * HOUR, "scrapped")


def test_where_it_is_after_each_step() -> None:
    steps: list[Step] = [IN_217, PULLED, TO_BO, ("put", "bo", {"place": "desk", "where": "4"})]
    seen = []
    for count in range(1, 5):
        state = folded(*steps[:count])
        seen.append((state.place.value, state.vehicle, state.holder, state.where))
    assert seen == [
        ("vehicle", "217", "", ""), ("bag", "", "ada", ""), ("bag", "", "bo", "North depot"),
        ("desk", "", "bo", "4"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("steps", "kind", "said"),
    [
        ([IN_HAND, ("handed", "cy", {"to": "bo", "head": "h"})], "gap", "with ada"),
        ([IN_217, ("handed", "ada", {"to": "bo", "head": "h"})], "gap", "fitted in 217"),
        ([IN_HAND, TO_BO, ("fitted", "ada", {"vehicle": "217"})], "gap", "with bo"),
        ([IN_HAND, TO_BO, ("put", "cy", {"place": "store", "where": ""})], "gap", "with bo"),
        ([IN_217, ("fitted", "bo", {"vehicle": "305"})], "two-places", "while it was fitted"),
        ([IN_217, ("pulled", "bo", {"vehicle": "305"})], "two-places", "fitted in 217"),
        ([IN_HAND, TO_BO, RETIRED, ("put", "bo", {"place": "store", "where": ""})],
         "after-retired", "had been retired"),
        ([IN_217, WIPED], "two-places", "wiped by bo while it was fitted in 217"),
        ([IN_HAND, ("registered", "bo", {**REGISTERED, "bytes": 11})], "differs", "label"),
        ([IN_217, ("changed", "ada", {"vehicle": "217"})], "not-told", "says not which"),
    ],
)  # fmt: skip
def test_what_does_not_go_together_is_a_fault(steps: list[Step], kind: str, said: str) -> None:
    state = folded(*steps)
    assert open_faults(state) == [kind]
    assert said in state.faults[-1].note
    looked = folded(*steps, ("found", "bo", {"where": "cupboard"}))
    assert open_faults(looked) == [] and looked.holder == "bo" and looked.faults[-1].settled


def test_what_two_say_of_one_act_is_no_gap() -> None:
    """A visit and its technician; capitals of a name do not matter; a store is nobody's."""
    both: Step = ("pulled", "Ada", {"vehicle": "217"})
    assert folded(IN_217, PULLED, both).faults == ()
    again: Step = ("fitted", "ada", {"vehicle": "217"})
    state = folded(IN_217, again)
    assert state.faults == () and len(state.stays) == 1
    store: Step = ("put", "ada", {"place": "store", "where": ""})
    assert folded(IN_HAND, store, ("fitted", "cy", {"vehicle": "217"})).faults == ()


def test_a_proof_counts_when_verified_and_until_it_records_again() -> None:
    bare = ("wiped", "bo", {**WIPED[2], "verified_by": ""})
    start: list[Step] = [IN_217, PULLED, TO_BO]
    assert folded(*start, bare).proof is None
    assert folded(*start, WIPED).proof is not None
    assert folded(*start, WIPED, ("fitted", "bo", {"vehicle": "305"})).proof is None
    used: list[Step] = [("fitted", "bo", {"vehicle": "305"}), ("pulled", "bo", {"vehicle": "305"})]
    assert folded(*start, WIPED, *used).proof is None
    # A certificate that comes after it left counts, too.
    late = folded(*start, RETIRED, WIPED)
    assert late.proof is not None and late.faults == () and late.place is Place.GONE


def test_a_time_that_was_said_is_when_it_happened() -> None:
    said = (T0 - 24 * HOUR).isoformat()
    state = folded(IN_HAND, ("fitted", "ada", {"vehicle": "217", "when": said}))
    assert state.stays[0].start == T0 - 24 * HOUR == state.since


def test_an_entry_that_does_not_read_as_one_is_refused() -> None:
    for wrong in (
        ("dropped", "ada", {}),
        ("handed", "ada", {}),
        ("wiped", "ada", {"category": "x"}),
    ):
        with pytest.raises(IntegrityError, match="s-1: entry 0 of log w"):
            folded(wrong)


@st.composite
def logs(draw: st.DrawFn) -> list[DriveEvent]:
    """Logs of three homes and a visit, as somebody could write them, times that agree included."""
    made: list[DriveEvent] = []
    for writer in ("aa", "bb", "visit v"):
        at = T0
        for number in range(draw(st.integers(0, 6))):
            at += draw(st.sampled_from([timedelta(0), HOUR]))
            vehicle = draw(st.sampled_from(["217", "305"]))
            kind = draw(st.sampled_from(sorted(DATA)))
            data = DATA[kind] | ({"vehicle": vehicle} if kind != "registered" else {})
            by = draw(st.sampled_from(PEOPLE))
            made.append(DriveEvent(at, writer, number, by, kind, {"reason": "r", **data}))
    return made


DATA: Mapping[str, dict[str, Any]] = {
    "registered": REGISTERED, "seen": {}, "fitted": {}, "pulled": {},
    "handed": {"to": "bo", "head": "h"}, "put": {"place": "store", "where": ""},
    "found": {"where": "x"}, "wiped": dict(WIPED[2]), "retired": {"how": "scrapped"},
    "changed": {}, "checked": {"verdict": "good", "notes": [], "taken": ""},
}  # fmt: skip


@given(logs(), st.randoms(use_true_random=False))
def test_the_order_in_which_logs_come_together_does_not_matter(
    events: Sequence[DriveEvent], shuffle: Any
) -> None:
    whole = fold_drive("s-1", events)
    mixed = list(events)
    shuffle.shuffle(mixed)
    assert fold_drive("s-1", mixed) == whole and fold_drive("s-1", [*mixed, *events]) == whole
    half = fold_drive("s-1", mixed[: len(mixed) // 2])
    assert fold_drive("s-1", [*half.events, *mixed]) == whole


@given(logs())
def test_whatever_was_written_a_drive_is_in_one_place(events: Sequence[DriveEvent]) -> None:
    """By counting: at most one stay is open, the open one is where it is, none ends before it
    begins; whoever acts without having it leaves a fault."""
    state = fold_drive("s-1", events)
    running = [one.vehicle for one in state.stays if one.end is None]
    assert running == ([state.vehicle] if state.vehicle else [])
    assert (state.place is Place.VEHICLE) == bool(state.vehicle)
    assert all(one.end >= one.start for one in state.stays if one.start and one.end)
    assert not (state.holder and state.vehicle)
    if state.proof is not None:
        assert state.proof.verified_by and not state.vehicle


def test_the_state_is_of_the_serial_it_is_asked_for() -> None:
    other = replace(folded(IN_217), serial="s-2")
    assert other.serial == "s-2" and folded(IN_217).id != fold_drive("s-2", []).id
