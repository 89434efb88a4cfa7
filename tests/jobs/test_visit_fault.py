"""What a fault came from: recorded in a visit, folded, and learned from once it is closed."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.visit_kit import T0, desk, opened

from asfound.errors import IntegrityError, NotFound, UsageError
from asfound.jobs.fault_tables import (
    NO_COUNTS,
    FaultCounts,
    count_faults,
    fault_tables,
    faults_of,
    learned,
)
from asfound.jobs.find_fault import Evidence, FindFault, chances_of, find_fault
from asfound.jobs.visit_act import CloseVisit, OverrideGate, close_visit, override
from asfound.jobs.visit_check import check_visit
from asfound.jobs.visit_fault import RecordFault, record_fault
from asfound.jobs.visit_fold import fold
from asfound.jobs.visit_gates import gate_states
from asfound.jobs.visit_journal import Desk, load_visit
from asfound.model.fault_found import FaultFound
from asfound.model.fault_guide import NO, OTHER, UNCLEAR, YES, FaultGuide
from asfound.model.journal import Entry, next_entry
from asfound.ports.backends.cautions_toml import load_cautions
from asfound.ports.backends.faults_toml import SHIPPED, load_faults
from asfound.ports.backends.store_tables import ENTRIES

GUIDE = load_faults(SHIPPED, load_cautions())
SEEN = Evidence(
    (("no-power-light", YES), ("gaps", NO)),
    (("look-at-fuse", "blown"), ("supply-at-plug", UNCLEAR)),
    ("main-plug",),
)


@pytest.fixture
def at(tmp_path: Path) -> Desk:
    return desk(tmp_path)


def asked(visit: str, cause: str = "fuse", guide: FaultGuide = GUIDE) -> RecordFault:
    return RecordFault(visit, guide, cause, SEEN, "ada", " chafed  behind the panel ")


def close(visit: str, at: Desk) -> None:
    """Close it whatever its gates say."""
    step = load_visit(visit, store=at.store, blobs=at.blobs).procedure.steps[-1].id
    for gate in gate_states(load_visit(visit, store=at.store, blobs=at.blobs), _last(visit, at)):
        if not gate.holds:
            override(OverrideGate(visit, step, gate.gate, "ada", "test"), desk=at)
    close_visit(CloseVisit(visit, "ada"), desk=at)


def _last(visit: str, at: Desk):  # type: ignore[no-untyped-def]
    return load_visit(visit, store=at.store, blobs=at.blobs).procedure.steps[-1]


def test_a_fault_is_kept_with_what_led_to_its_cause(at: Desk) -> None:
    visit = opened(at, "inspection").id
    [found] = record_fault(asked(visit), desk=at).faults
    assert (found.cause, found.title) == ("fuse", "Blown fuse")
    assert found.symptoms == ("no-power-light",) and found.tried == ("main-plug",)
    assert found.checks == (
        ("gaps", NO), ("look-at-fuse", "blown"), ("supply-at-plug", UNCLEAR),
    )  # fmt: skip
    assert (found.by, found.note, found.guide) == ("ada", "chafed behind the panel", GUIDE.id)
    assert load_visit(visit, store=at.store, blobs=at.blobs).faults == (found,)
    entry = at.store.entries(visit)[-1]
    assert entry.kind == "fault-found" and "instead" not in entry.data
    assert check_visit(visit, store=at.store, blobs=at.blobs).faults == ()


def test_a_visit_may_find_several_faults_and_correct_the_last(at: Desk) -> None:
    visit = opened(at, "inspection").id
    with pytest.raises(UsageError, match="no earlier record"):
        record_fault(replace(asked(visit), instead=True), desk=at)
    record_fault(asked(visit), desk=at)
    record_fault(asked(visit, "camera"), desk=at)
    state = record_fault(replace(asked(visit, "lens"), instead=True), desk=at)
    assert [found.cause for found in state.faults] == ["fuse", "lens"]
    assert [found.cause for found in faults_of(_kept(visit, at))] == ["fuse", "lens"]


def _kept(visit: str, at: Desk) -> list[Entry]:
    return [entry for entry in at.store.entries(visit) if entry.kind == "fault-found"]


def test_what_is_refused_leaves_the_journal_as_it_was(at: Desk) -> None:
    visit = opened(at, "inspection").id
    before = len(at.store.entries(visit))
    good = asked(visit)
    for wrong, error, says in (
        (replace(good, cause="dragon"), NotFound, "no cause 'dragon'"),
        (replace(good, by=" "), UsageError, "--by"),
        (replace(good, cause=OTHER, note=""), UsageError, "say in a note what it was"),
        (replace(good, cause="main-plug"), UsageError, "repaired in vain"),
        (replace(good, note="a\x1b[2J"), UsageError, "unseen character"),
        (replace(good, evidence=Evidence((("x", YES),))), NotFound, "no symptom or check 'x'"),
        (replace(good, evidence=Evidence((), (("gaps", "so"),))), NotFound, "no outcome 'so'"),
        (replace(good, evidence=Evidence((), (), ("x",))), NotFound, "no cause 'x'"),
        (replace(good, visit="nope"), NotFound, "no visit"),
    ):
        with pytest.raises(error, match=says):
            record_fault(wrong, desk=at)
    assert len(at.store.entries(visit)) == before
    assert record_fault(replace(good, cause=OTHER), desk=at).faults[0].cause == OTHER


def test_only_closed_visits_teach(at: Desk) -> None:
    first, second = opened(at, "inspection").id, opened(at, "inspection").id
    record_fault(asked(first), desk=at)
    record_fault(asked(second, "camera"), desk=at)
    assert learned(GUIDE, store=at.store) == FaultCounts()
    close(first, at)
    counts = learned(GUIDE, store=at.store)
    assert (counts.visits, counts.faults, counts.skipped) == (1, 1, 0)
    assert counts.causes == {"fuse": 1}
    # Told, not told, and not made; a symptom that is not named was not there.
    told = {question: dict(seen) for (question, _), seen in counts.outcomes.items()}
    assert told["look-at-fuse"] == {"blown": 1} and told["no-power-light"] == {YES: 1}
    assert "supply-at-plug" not in told and "earth-drop" not in told
    assert told["no-position"] == {NO: 1}
    before = find_fault(FindFault(fault_tables(GUIDE)))
    after = find_fault(FindFault(fault_tables(GUIDE, counts)))
    shares = [
        next(one.share for one in view.causes if one.cause.id == "fuse") for view in (before, after)
    ]
    # Dirichlet: (20 x 5/128 + 1) / (20 + 1), of the shares and weight in data/faults.toml.
    assert shares == pytest.approx([5 / 128, (20 * 5 / 128 + 1) / 21])


def test_records_of_another_guide_are_left_out_and_counted(at: Desk) -> None:
    visit = opened(at, "inspection").id
    record_fault(asked(visit), desk=at)
    record_fault(asked(visit, "camera", replace(GUIDE, id="another")), desk=at)
    close(visit, at)
    counts = learned(GUIDE, store=at.store)
    assert (counts.faults, counts.skipped, counts.causes) == (1, 1, {"fuse": 1})


def test_a_record_that_was_altered_teaches_nothing(at: Desk) -> None:
    visit = opened(at, "inspection").id
    record_fault(asked(visit), desk=at)
    close(visit, at)
    with at.store._engine.begin() as connection:  # type: ignore[attr-defined]
        row = ENTRIES.c.kind == "fault-found"
        text = connection.scalar(ENTRIES.select().with_only_columns(ENTRIES.c.data).where(row))
        forged = text.replace('"fuse"', '"lens"', 1)
        assert forged != text
        connection.execute(ENTRIES.update().where(row).values(data=forged))
    counts = learned(GUIDE, store=at.store)
    assert (counts.faults, counts.skipped) == (0, 1)


@pytest.mark.parametrize(
    "data",
    [
        {},
        {"cause": "fuse"},
        {"cause": "fuse", "title": "x", "guide": "g", "symptoms": 3, "checks": [], "tried": []},
        {"cause": "fuse", "title": "x", "guide": "g", "symptoms": [], "checks": [1], "tried": []},
        {"cause": "c", "title": "x", "guide": "g", "symptoms": [], "checks": [], "tried": [],
         "instead": True},
    ],
)  # fmt: skip
def test_an_entry_that_lacks_something_is_refused(at: Desk, data: dict[str, object]) -> None:
    visit = opened(at, "inspection").id
    entries = list(at.store.entries(visit))
    entries.append(next_entry(entries, visit, T0 + timedelta(hours=1), "ada", "fault-found", data))
    with pytest.raises(IntegrityError, match="lacks what it needs"):
        fold(entries, at.blobs.get)
    with pytest.raises(IntegrityError, match="lacks what it needs"):
        faults_of(entries[-1:])


def test_old_journals_still_read(at: Desk) -> None:
    """A journal without entries of this kind has no faults, and teaches nothing."""
    visit = opened(at, "inspection").id
    close(visit, at)
    assert load_visit(visit, store=at.store, blobs=at.blobs).faults == ()
    assert learned(GUIDE, store=at.store) == NO_COUNTS


RECORDS = st.lists(
    st.tuples(
        st.sampled_from([cause.id for cause in GUIDE.causes]),
        st.sets(st.sampled_from([item.id for item in GUIDE.symptoms]), max_size=3),
        st.lists(st.sampled_from(GUIDE.checks), max_size=4, unique_by=lambda item: item.id),
        st.integers(0, 5),
    ),
    max_size=30,
)


@settings(max_examples=30)
@given(RECORDS)
def test_counts_move_chances_towards_what_was_met_and_keep_them_chances(records) -> None:  # type: ignore[no-untyped-def]
    found = [
        (f"v{n}", FaultFound(
            cause, "", GUIDE.id, tuple(sorted(symptoms)),
            tuple((item.id, item.outcomes[pick % len(item.outcomes)].id) for item in checks),
            (), "", "ada", T0, n,
        ))
        for n, (cause, symptoms, checks, pick) in enumerate(records)
    ]  # fmt: skip
    counts = count_faults(GUIDE, found)
    before, after = fault_tables(GUIDE), fault_tables(GUIDE, counts)
    assert after.prior.sum() == pytest.approx(1)
    assert np.allclose(after.chances.sum(axis=2), 1)
    assert (after.chances[before.chances > 0] > 0).all()
    for number, cause in enumerate(GUIDE.causes):
        often = counts.causes.get(cause.id, 0) / max(len(records), 1)
        low, high = sorted(
            (float(before.prior[number]), often if records else before.prior[number])
        )
        assert low - 1e-12 <= after.prior[number] <= high + 1e-12
    again = count_faults(GUIDE, found[::-1])
    assert again == counts and chances_of(after, SEEN).sum() == pytest.approx(1)
