"""Whole visits on paper: what a person does, what is refused, and what the journal then says."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from tests.visit_kit import (
    MAP,
    STANDARD,
    T0,
    VALUES,
    VEHICLE,
    desk,
    no_difference,
    opened,
    procedure,
    proof,
    reading,
)

from asfound.errors import GateShut, IntegrityError, NotFound, UsageError
from asfound.jobs.holds import PlaceHold, ReleaseHold, place_hold, release_hold
from asfound.jobs.visit_act import (
    AddNote,
    CloseVisit,
    OverrideGate,
    Settle,
    TickStep,
    close_visit,
    note,
    override,
    settle,
    tick,
)
from asfound.jobs.visit_fold import values_of
from asfound.jobs.visit_gates import shut_gates
from asfound.jobs.visit_journal import Book, Desk, load_visit
from asfound.jobs.visit_open import OpenVisit, list_visits, open_visit
from asfound.jobs.visit_record import (
    RecordDifference,
    RecordProof,
    RecordReading,
    record_as_found,
    record_as_left,
    record_difference,
    record_proof,
)
from asfound.jobs.visit_work import VisitPlan, visit_compare, visit_expectation, visit_plan
from asfound.model.difference import Verdict
from asfound.model.finding import ProofVerdict
from asfound.model.journal import Entry
from asfound.model.visit import VisitState

SIZE = "camera-1.size"
LEFT = VALUES | {"camera-2.record": "on", "camera-2.size": "CIF"}
"""What the target says for firmware 2.0: as found, with the standard's camera 2."""


@pytest.fixture
def at(tmp_path: Path) -> Desk:
    return desk(tmp_path)


def ticked(visit: str, at: Desk, *steps: str) -> VisitState:
    for step in steps:
        tick(TickStep(visit, step, "ada"), desk=at)
    return load_visit(visit, store=at.store, blobs=at.blobs)


def read_as_found(visit: str, at: Desk) -> VisitState:
    ticked(visit, at, "locate", "power", "monitor")
    return record_as_found(RecordReading(visit, MAP, reading(VALUES, at), "ada"), desk=at)


def until_rekeyed(at: Desk) -> str:
    visit = opened(at).id
    read_as_found(visit, at)
    tick(TickStep(visit, "firmware", "ada", "", "2.0", MAP), desk=at)
    ticked(visit, at, "reset")
    visit_plan(VisitPlan(visit, MAP, STANDARD, VEHICLE, "ada"), desk=at)
    ticked(visit, at, "rekey")
    return visit


def test_a_whole_visit_with_trouble_closes_and_reads_the_same_again(at: Desk) -> None:
    visit = opened(at).id
    assert visit == "217-261125-1"
    ticked(visit, at, "locate", "power", "monitor")
    doubtful = {key: value for key, value in VALUES.items() if key != "camera-1.size"}
    first = reading(doubtful, at, doubts={"camera-1.size": ("HD", "CIF")})
    state = record_as_found(RecordReading(visit, MAP, first, "ada"), desk=at)
    assert state.is_done("read") and not state.is_done("settle")

    with pytest.raises(GateShut, match=r"camera-1\.size"):
        tick(TickStep(visit, "reset", "ada"), desk=at)
    state = settle(Settle(visit, MAP, "camera-1.size", "HD", "bo"), desk=at)
    assert state.is_done("settle")  # the last doubt ticks the step
    assert state.as_found_values() == VALUES

    tick(TickStep(visit, "firmware", "ada", "took 4 min", "2.0", MAP), desk=at)
    state = ticked(visit, at, "reset")
    assert (state.firmware_found, state.firmware_left) == ("1.0", "2.0")
    state = visit_plan(VisitPlan(visit, MAP, STANDARD, VEHICLE, "ada"), desk=at)
    assert state.target is not None and state.target.as_dict()["camera-2.record"] == "on"
    assert state.sheet is not None and state.sheet.added == ("camera-2.size",)
    ticked(visit, at, "rekey")

    wrong = reading(LEFT | {"camera-2.record": "off", "camera-1.size": "CIF"}, at, "2.0")
    record_as_left(RecordReading(visit, MAP, wrong, "ada"), desk=at)
    state = visit_compare(VisitPlan(visit, MAP, STANDARD, VEHICLE, "ada"), desk=at)
    assert state.rounds[0].difference is not None
    assert [item.verdict for item in state.rounds[0].difference.open_items()] == [
        Verdict.MISSED, Verdict.MISSED,
    ]  # fmt: skip
    assert not state.is_done("read-left")

    # Only the mended pages are photographed again; the rest keeps its values.
    mended = {key: LEFT[key] for key in LEFT if key.startswith("camera")}
    record_as_left(RecordReading(visit, MAP, reading(mended, at, "2.0"), "ada"), desk=at)
    state = visit_compare(VisitPlan(visit, MAP, STANDARD, VEHICLE, "ada"), desk=at)
    assert values_of(state.rounds[1].reading, ()) == LEFT
    assert state.is_done("read-left")

    hold = place_hold(
        PlaceHold(VEHICLE, T0 - timedelta(hours=9), T0, "claim at the depot gate", "office"),
        store=at.store, clock=at.clock,
    )  # fmt: skip
    with pytest.raises(GateShut, match=r"hold-217-1 \(claim at the depot gate\).*hold release"):
        tick(TickStep(visit, "drive", "ada"), desk=at)
    release_hold(
        ReleaseHold(hold.id, "office", "copied to the evidence drive"),
        store=at.store, clock=at.clock,
    )  # fmt: skip
    ticked(visit, at, "drive")

    with pytest.raises(GateShut, match="no recordings were looked at"):
        close_visit(CloseVisit(visit, "ada"), desk=at)
    record_proof(RecordProof(visit, proof(ProofVerdict.FAULTS, at), "ada"), desk=at)
    ticked(visit, at, "prove")
    with pytest.raises(GateShut, match="black on channel 1"):
        close_visit(CloseVisit(visit, "ada"), desk=at)
    record_proof(RecordProof(visit, proof(ProofVerdict.RECORDS, at), "ada"), desk=at)
    state = close_visit(CloseVisit(visit, "ada", "camera 1 cable mended"), desk=at)

    assert state.closed and state.current() is None
    assert state == load_visit(visit, store=at.store, blobs=at.blobs)
    assert [item.released_by for item in state.holds] == ["office"]
    entries = at.store.entries(visit)
    assert state.head == entries[-1].hash and state.entries == len(entries)
    kinds = [entry.kind for entry in entries]
    assert kinds[0] == "opened" and kinds[-1] == "closed" and kinds.count("holds-changed") == 2


def test_a_closed_visit_takes_no_more_entries_and_stays_as_it_was(at: Desk) -> None:
    visit = until_rekeyed(at)
    record_as_left(RecordReading(visit, MAP, reading(LEFT, at, "2.0"), "ada"), desk=at)
    visit_compare(VisitPlan(visit, MAP, STANDARD, VEHICLE, "ada"), desk=at)
    ticked(visit, at, "drive")
    record_proof(RecordProof(visit, proof(ProofVerdict.RECORDS, at), "ada"), desk=at)
    closed = close_visit(CloseVisit(visit, "ada"), desk=at)
    place_hold(PlaceHold(VEHICLE, T0, T0, "later", "office"), store=at.store, clock=at.clock)
    refused = "closed and takes no more entries"
    with pytest.raises(UsageError, match=refused):
        note(AddNote(visit, "ada", "too late"), desk=at)
    with pytest.raises(UsageError, match=refused):
        tick(TickStep(visit, "drive", "ada"), desk=at)
    with pytest.raises(UsageError, match=refused):
        settle(Settle(visit, MAP, "camera-1.size", "HD", "ada"), desk=at)
    with pytest.raises(UsageError, match=refused):
        close_visit(CloseVisit(visit, "ada"), desk=at)
    assert load_visit(visit, store=at.store, blobs=at.blobs) == closed
    assert [line.closed for line in list_visits(store=at.store)] == [True]


def test_a_proof_with_faults_closes_only_by_override_with_name_and_reason(at: Desk) -> None:
    visit = until_rekeyed(at)
    record_as_left(RecordReading(visit, MAP, reading(LEFT, at, "2.0"), "ada"), desk=at)
    visit_compare(VisitPlan(visit, MAP, STANDARD, VEHICLE, "ada"), desk=at)
    ticked(visit, at, "drive")
    record_proof(RecordProof(visit, proof(ProofVerdict.UNCLEAR, at), "ada"), desk=at)
    ticked(visit, at, "prove")
    wanted = OverrideGate(visit, "close", "recording-proved", "ada", "camera ordered")
    for broken in (replace(wanted, by=" "), replace(wanted, reason="")):
        with pytest.raises(UsageError, match="say "):
            override(broken, desk=at)
    override(wanted, desk=at)
    with pytest.raises(UsageError, match="nothing to override"):
        override(wanted, desk=at)
    # What is found afterwards is not covered by it.
    record_proof(RecordProof(visit, proof(ProofVerdict.FAULTS, at), "ada"), desk=at)
    with pytest.raises(GateShut, match="the proof found faults"):
        close_visit(CloseVisit(visit, "ada"), desk=at)
    override(wanted, desk=at)
    state = close_visit(CloseVisit(visit, "ada"), desk=at)
    assert [(item.by, item.reason) for item in state.overrides] == [("ada", "camera ordered")] * 2


def test_a_hold_is_released_and_never_overridden(at: Desk) -> None:
    visit = until_rekeyed(at)
    place_hold(PlaceHold(VEHICLE, T0, T0, "claim", "office"), store=at.store, clock=at.clock)
    with pytest.raises(UsageError, match="never overridden; asfound hold release"):
        override(OverrideGate(visit, "drive", "no-hold", "ada", "in a hurry"), desk=at)


def test_settling_takes_only_values_that_the_field_can_have(at: Desk) -> None:
    visit = opened(at).id
    ticked(visit, at, "locate", "power", "monitor")
    with pytest.raises(UsageError, match="nothing was read yet"):
        settle(Settle(visit, MAP, "camera-1.size", "HD", "ada"), desk=at)
    unread = reading({"camera-1.record": "on"}, at)
    record_as_found(RecordReading(visit, MAP, unread, "ada"), desk=at)
    for field, value in (
        ("camera-1.size", "hd"), ("camera-1.record", "On"), ("general.name", "XYZ"),
        ("general.code", "4711"),
    ):  # fmt: skip
        with pytest.raises(UsageError) as caught:
            settle(Settle(visit, MAP, field, value, "ada"), desk=at)
        assert field in str(caught.value)
    assert "4711" not in str(caught.value)  # a password that was typed is not shown again
    with pytest.raises(NotFound, match="no field"):
        settle(Settle(visit, MAP, "camera-9.size", "HD", "ada"), desk=at)
    with pytest.raises(UsageError, match="--by NAME"):
        settle(Settle(visit, MAP, "camera-1.size", "HD", ""), desk=at)
    with pytest.raises(UsageError, match="as left"):
        settle(Settle(visit, MAP, "camera-1.size", "HD", "ada", True), desk=at)


def test_a_value_that_only_a_draft_does_not_list_is_settled_and_marked(at: Desk) -> None:
    visit = opened(at).id
    ticked(visit, at, "locate", "power", "monitor")
    record_as_found(RecordReading(visit, MAP, reading(VALUES, at), "ada"), desk=at)
    pages = tuple(
        replace(
            page,
            fields=tuple(
                replace(field, drafted=("type", "options")) if field.id == SIZE else field
                for field in page.fields
            ),
        )
        for page in MAP.pages
    )
    draft = replace(MAP, pages=pages)
    with pytest.raises(UsageError, match="'HD 1080' is not one of"):
        settle(Settle(visit, MAP, SIZE, "HD 1080", "ada"), desk=at)
    settle(Settle(visit, draft, SIZE, "HD 1080", "ada", tick=False), desk=at)
    state = load_visit(visit, store=at.store, blobs=at.blobs)
    assert [(item.value, item.unlisted) for item in state.settled] == [("HD 1080", True)]
    assert at.store.entries(visit)[-1].data["unlisted"] is True
    settle(Settle(visit, draft, SIZE, "CIF", "ada"), desk=at)
    state = load_visit(visit, store=at.store, blobs=at.blobs)
    assert [(item.value, item.unlisted) for item in state.settled] == [("CIF", False)]


def test_more_photographs_add_up_and_keep_what_was_settled(at: Desk) -> None:
    visit = opened(at).id
    ticked(visit, at, "locate", "power", "monitor")
    part = {key: VALUES[key] for key in VALUES if key.startswith("camera-1")}
    unsure = reading(part, at, doubts={"general.name": ("AB", "BB")})
    state = record_as_found(RecordReading(visit, MAP, unsure, "ada"), desk=at)
    assert not state.is_done("read")  # camera 2 is missing
    state = settle(Settle(visit, MAP, "general.name", "BB", "ada"), desk=at)
    rest = reading({"camera-2.record": "off", "camera-1.record": "off", "camera-1.size": "HD"}, at)
    state = record_as_found(RecordReading(visit, MAP, rest, "ada"), desk=at)
    assert state.as_found is not None and state.as_found.missing_pages == ()
    assert state.is_done("read")
    assert [item.value for item in state.settled] == ["BB"]
    # Two photographs that disagree are a doubt, not a choice.
    assert [(item.id, item.candidates) for item in state.as_found.doubts()][1:] == [
        ("general.code", ()), ("camera-1.record", ("on", "off")),
    ]  # fmt: skip


def test_as_found_ends_where_the_recorder_is_changed(at: Desk) -> None:
    visit = until_rekeyed(at)
    with pytest.raises(UsageError, match="no longer as found; read with --as-left"):
        record_as_found(RecordReading(visit, MAP, reading(VALUES, at), "ada"), desk=at)
    with pytest.raises(UsageError, match=r"firmware 1\.0, but 2\.0"):
        record_as_left(RecordReading(visit, MAP, reading(VALUES, at), "ada"), desk=at)


def test_what_rests_on_an_older_fact_falls_with_it(at: Desk) -> None:
    visit = until_rekeyed(at)
    doubtful = {key: value for key, value in LEFT.items() if key != "general.name"}
    left = reading(doubtful, at, "2.0", {"general.name": ("AB", "BB")})
    record_as_left(RecordReading(visit, MAP, left, "ada"), desk=at)
    plan = VisitPlan(visit, MAP, STANDARD, VEHICLE, "ada")
    state = visit_compare(plan, desk=at)
    assert state.rounds[0].difference is not None
    state = settle(Settle(visit, MAP, "general.name", "AB", "ada"), desk=at)
    assert state.rounds[0].difference is None  # the round changed: compare again
    state = visit_compare(plan, desk=at)
    assert state.is_done("read-left")
    state = settle(Settle(visit, MAP, "general.name", "BB", "ada", as_left=False), desk=at)
    assert (state.target, state.sheet, state.rounds[0].difference) == (None, None, None)
    close = state.procedure.step("close")
    assert "as-left-compared" in {gate.gate for gate in shut_gates(state, close)}
    state = visit_compare(plan, desk=at)  # plans again by itself
    assert state.rounds[0].difference is not None
    assert [item.id for item in state.rounds[0].difference.open_items()] == ["general.name"]


def test_a_setting_mended_after_the_proof_asks_for_a_new_proof(at: Desk) -> None:
    visit = until_rekeyed(at)
    record_as_left(RecordReading(visit, MAP, reading(LEFT, at, "2.0"), "ada"), desk=at)
    record_difference(RecordDifference(visit, no_difference("2.0"), "ada"), desk=at)
    ticked(visit, at, "drive")
    state = record_proof(RecordProof(visit, proof(ProofVerdict.RECORDS, at), "ada"), desk=at)
    assert state.proof is not None
    again = reading({"general.name": "AB", "general.code": "set"}, at, "2.0")
    state = record_as_left(RecordReading(visit, MAP, again, "ada"), desk=at)
    assert state.proof is not None  # the same values
    mended = reading({"general.name": "BB", "general.code": "set"}, at, "2.0")
    state = record_as_left(RecordReading(visit, MAP, mended, "ada"), desk=at)
    assert state.proof is None


def test_an_inspection_compares_what_was_found(at: Desk) -> None:
    visit = opened(at, "inspection").id
    read_as_found(visit, at)
    state = visit_compare(VisitPlan(visit, MAP, STANDARD, VEHICLE, "ada"), desk=at)
    assert state.rounds[0].reading == state.as_found
    assert state.rounds[0].difference is not None
    assert [item.id for item in state.rounds[0].difference.open_items()] == ["camera-2.record"]
    names = [item.channel for item in visit_expectation(state, MAP).channels]
    assert names == [1, 2]
    changing = until_rekeyed(at)
    with pytest.raises(UsageError, match="as left were not read"):
        visit_compare(VisitPlan(changing, MAP, STANDARD, VEHICLE, "ada"), desk=at)


def test_steps_are_ticked_in_order_once_and_by_somebody(at: Desk) -> None:
    visit = opened(at).id
    cases = [
        (TickStep(visit, "monitor", "ada"), GateShut, "2 earlier steps not done: locate, power"),
        (TickStep(visit, "locate", ""), UsageError, "--by NAME"),
        (TickStep(visit, "polish", "ada"), NotFound, "no step 'polish'"),
        (TickStep(visit, "locate", "ada", "", "2.0", MAP), UsageError, "installs no firmware"),
    ]  # fmt: skip
    for request, error, text in cases:
        with pytest.raises(error, match=text):
            tick(request, desk=at)
    ticked(visit, at, "locate", "power", "monitor")
    with pytest.raises(UsageError, match="done already"):
        tick(TickStep(visit, "locate", "ada"), desk=at)
    with pytest.raises(GateShut, match="not finished: no photographs were read"):
        tick(TickStep(visit, "read", "ada"), desk=at)
    read = record_as_found(RecordReading(visit, MAP, reading(VALUES, at), "ada"), desk=at)
    assert read.is_done("settle")
    for version in (None, "9.9"):
        with pytest.raises(UsageError, match="firmware"):
            tick(TickStep(visit, "firmware", "ada", "", version, MAP), desk=at)


def test_opening_checks_what_it_is_given_and_counts_up(at: Desk) -> None:
    made = OpenVisit(VEHICLE, "F", "Europe/London", procedure(), MAP, "ada")

    def go(request: OpenVisit) -> str:
        return open_visit(request, store=at.store, blobs=at.blobs, clock=at.clock).id

    assert [go(made), go(made)] == ["217-261125-1", "217-261125-2"]
    # 2026-11-25 20:00 UTC is already the 26th in Auckland (UTC+13 in their summer).
    assert go(replace(made, time_zone="Pacific/Auckland")) == "217-261126-1"
    odd = replace(VEHICLE, number="B/12 Ä")
    assert go(replace(made, vehicle=odd)) == "b12-261125-1"
    with pytest.raises(UsageError, match="--by NAME"):
        go(replace(made, by=""))
    with pytest.raises(UsageError, match="firmware '7'"):
        go(replace(made, firmware="7"))
    with pytest.raises(UsageError, match="not a other"):
        go(replace(made, menu_map=replace(MAP, id="other")))
    lines = list_visits(store=at.store)
    assert len(lines) == 4 and {line.done for line in lines} == {0}


def test_a_visit_that_is_not_there_is_not_found(at: Desk) -> None:
    with pytest.raises(NotFound, match="no visit 'x'"):
        load_visit("x", store=at.store, blobs=at.blobs)


def test_notes_are_kept(at: Desk) -> None:
    visit = opened(at).id
    state = note(AddNote(visit, "ada", "  seal\nbroken ", "locate"), desk=at)
    assert [(item.step, item.note) for item in state.notes] == [("locate", "seal broken")]
    with pytest.raises(UsageError, match="empty"):
        note(AddNote(visit, "ada", " "), desk=at)


def test_of_two_people_at_once_one_is_told_to_reload(at: Desk) -> None:
    visit = opened(at).id
    ada, bo = Book(visit, at), Book(visit, at)
    ada.write("ada", "noted", {"step": "", "note": "first"})
    with pytest.raises(IntegrityError, match="reload"):
        bo.write("bo", "noted", {"step": "", "note": "second"})


def test_two_openings_at_once_get_two_numbers(at: Desk) -> None:
    class Behind:
        """A store that first shows the day as it was before the other visit was opened."""

        def __init__(self) -> None:
            self.looks = 0

        def entries(self, visit: str) -> Sequence[Entry]:
            self.looks += 1
            return () if self.looks == 1 else at.store.entries(visit)

        append = at.store.append
        closed_entries = at.store.closed_entries
        line_heads = at.store.line_heads
        line_stamp = at.store.line_stamp
        visits = at.store.visits
        lines = at.store.lines
        heads = at.store.heads
        holds = at.store.holds
        save_hold = at.store.save_hold
        save_tick = at.store.save_tick
        ticks = at.store.ticks
        ticks_stamp = at.store.ticks_stamp
        save_place_picture = at.store.save_place_picture
        place_pictures = at.store.place_pictures

    opened(at)
    behind = Desk(Behind(), at.blobs, at.clock)
    assert opened(behind).id == "217-261125-2"


def test_gates_that_are_not_there_are_not_overridden(at: Desk) -> None:
    visit = opened(at).id
    with pytest.raises(NotFound, match="it has steps-done"):
        override(OverrideGate(visit, "read", "no-hold", "ada", "x"), desk=at)
    with pytest.raises(NotFound, match="it has none"):
        override(OverrideGate(visit, "locate", "moon-full", "ada", "x"), desk=at)


def test_what_nobody_can_see_is_not_written_down(at: Desk) -> None:
    # ECMA-48 control functions; PEP 383: bytes that are no UTF-8 come as lone surrogates.
    visit = opened(at).id
    before = load_visit(visit, store=at.store, blobs=at.blobs).head
    for text in ("cut\x1b[31m off", "\udcff", "a\u202eb", "\u009b2J"):
        with pytest.raises(UsageError, match=r"unseen character ⟨U\+"):
            note(AddNote(visit, "ada", text), desk=at)
        with pytest.raises(UsageError, match=r"unseen character ⟨U\+"):
            note(AddNote(visit, text, "seen"), desk=at)
        with pytest.raises(UsageError, match=r"unseen character ⟨U\+"):
            tick(TickStep(visit, "locate", "ada", text), desk=at)
    assert load_visit(visit, store=at.store, blobs=at.blobs).head == before
    note(AddNote(visit, "ada", "two\nlines  Łódź"), desk=at)
    assert load_visit(visit, store=at.store, blobs=at.blobs).notes[-1].note == "two lines Łódź"
