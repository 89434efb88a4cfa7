"""The fold is pure, and any change of any entry is found before it is believed."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.visit_kit import MAP, STANDARD, T0, VALUES, VEHICLE, desk, opened, proof, reading

from asfound.errors import InputError, IntegrityError, NotFound
from asfound.jobs.visit_act import TickStep, tick
from asfound.jobs.visit_check import check_visit
from asfound.jobs.visit_fold import advance, fold
from asfound.jobs.visit_journal import Desk, load_visit
from asfound.jobs.visit_record import RecordProof, RecordReading, record_as_found, record_proof
from asfound.jobs.visit_work import VisitPlan, visit_compare
from asfound.model.finding import ProofVerdict
from asfound.model.journal import Entry, canonical_json, chain_fault, next_entry

JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner),
    max_leaves=5,
)
DATA = st.dictionaries(st.text(max_size=5), JSON, max_size=3)
WHEN = st.datetimes(min_value=datetime(2000, 1, 1), timezones=st.just(UTC))


@st.composite
def chains(draw: st.DrawFn) -> list[Entry]:
    entries: list[Entry] = []
    for _ in range(draw(st.integers(1, 5))):
        by, kind = draw(st.text(max_size=4)), draw(st.sampled_from(["opened", "noted"]))
        entries.append(next_entry(entries, "v", draw(WHEN), by, kind, draw(DATA)))
    return entries


@given(chains(), st.data())
def test_any_change_of_any_field_breaks_the_chain(
    entries: list[Entry], data: st.DataObject
) -> None:
    assert chain_fault(entries) is None
    at = data.draw(st.integers(0, len(entries) - 1))
    entry = entries[at]
    field = data.draw(
        st.sampled_from(["visit", "seq", "at", "by", "kind", "data", "previous", "hash"])
    )
    new: dict[str, Any] = {
        "visit": entry.visit + "x",
        "seq": entry.seq + data.draw(st.integers(1, 3)),
        "at": entry.at + timedelta(microseconds=data.draw(st.integers(1, 10**9))),
        "by": data.draw(st.text(max_size=4).filter(lambda text: text != entry.by)),
        "kind": entry.kind + " ",
        "data": {**entry.data, "added": 1, **({"added": 2} if "added" in entry.data else {})},
        "previous": entry.previous[:-1] + ("0" if entry.previous[-1] != "0" else "1"),
        "hash": entry.hash[:-1] + ("0" if entry.hash[-1] != "0" else "1"),
    }
    altered = [*entries]
    altered[at] = replace(entry, **{field: new[field]})
    assert chain_fault(altered) is not None


@given(chains(), st.data())
def test_dropping_or_exchanging_entries_breaks_the_chain(
    entries: list[Entry], data: st.DataObject
) -> None:
    at = data.draw(st.integers(0, len(entries) - 1))
    if at < len(entries) - 1:  # the end may be missing: only the head's hash elsewhere tells
        assert chain_fault(entries[:at] + entries[at + 1 :]) is not None
        swapped = [*entries]
        swapped[at], swapped[at + 1] = swapped[at + 1], swapped[at]
        assert chain_fault(swapped) is not None
    assert chain_fault(entries[: at + 1]) is None


@given(DATA)
def test_equal_data_has_equal_bytes_whatever_its_order(data: dict[str, Any]) -> None:
    turned = json.loads(json.dumps(dict(reversed(list(data.items())))))
    assert canonical_json(turned) == canonical_json(data)


@pytest.fixture
def at(tmp_path: Path) -> Desk:
    return desk(tmp_path, f"sqlite:///{tmp_path / 'asfound.db'}")


def some_visit(at: Desk) -> str:
    visit = opened(at, "inspection").id
    for step in ("locate", "power", "monitor"):
        tick(TickStep(visit, step, "ada"), desk=at)
    record_as_found(RecordReading(visit, MAP, reading(VALUES, at), "ada"), desk=at)
    return visit


def test_folding_twice_gives_the_same_and_step_by_step_too(at: Desk) -> None:
    visit = some_visit(at)
    entries = at.store.entries(visit)
    whole = fold(entries, at.blobs.get)
    assert whole == fold(list(entries), at.blobs.get)
    state = fold(entries[:1], at.blobs.get)
    for entry in entries[1:]:
        before = state
        state = advance(state, entry, at.blobs.get)
        assert before.entries + 1 == state.entries  # what went in is untouched
    assert state == whole


def forged(at: Desk, visit: str, kind: str, data: dict[str, Any]) -> list[Entry]:
    entries = list(at.store.entries(visit))
    return [*entries, next_entry(entries, visit, T0, "ada", kind, data)]


@pytest.mark.parametrize(
    ("kind", "data"),
    [
        ("cancelled", {}), ("opened", {}), ("settled", {}), ("settled", {"field": "x"}),
        ("compared", {"difference": "0" * 64}), ("step-done", {"step": "locate"}),
        ("settled", {"field": "x", "value": "y", "round": 3}), ("planned", {"target": 8}),
        ("as-left-read", {}), ("proved", {"proof": None}), ("closed", {}),
    ],
)  # fmt: skip
def test_entries_that_cannot_stand_there_are_told(
    at: Desk, kind: str, data: dict[str, Any]
) -> None:
    visit = some_visit(at)
    with pytest.raises((IntegrityError, NotFound)) as caught:
        fold(forged(at, visit, kind, data), at.blobs.get)
    assert "\n" not in str(caught.value)


def test_a_document_of_another_kind_is_told(at: Desk) -> None:
    visit = some_visit(at)
    other = at.blobs.put(b'{"not":"a reading"}')
    with pytest.raises(InputError, match=f"visit {visit}, entry"):
        fold(forged(at, visit, "as-found-read", {"reading": other}), at.blobs.get)


def test_an_empty_or_headless_journal_is_no_visit(at: Desk) -> None:
    with pytest.raises(NotFound):
        fold([], at.blobs.get)
    with pytest.raises(IntegrityError, match="not the opening"):
        fold([next_entry([], "v", T0, "ada", "noted", {})], at.blobs.get)


# --- check --------------------------------------------------------------------------------


def test_a_sound_visit_has_no_faults(at: Desk) -> None:
    visit = some_visit(at)
    found = check_visit(visit, store=at.store, blobs=at.blobs)
    state = load_visit(visit, store=at.store, blobs=at.blobs)
    assert (found.faults, found.head, found.entries) == ((), state.head, state.entries)
    assert found.blobs == 1 + 1 + 3  # the menu map, the reading, three photographs
    with pytest.raises(NotFound):
        check_visit("x", store=at.store, blobs=at.blobs)


def test_pictures_of_a_proof_are_checked_too(at: Desk) -> None:
    visit = some_visit(at)
    visit_compare(VisitPlan(visit, MAP, STANDARD, VEHICLE, "ada"), desk=at)
    tick(TickStep(visit, "compare", "ada"), desk=at)
    record_proof(RecordProof(visit, proof(ProofVerdict.FAULTS, at), "ada"), desk=at)
    at.blobs.path(at.blobs.put(b"thumbnail")).unlink()
    assert [line[:18] for line in check_visit(visit, store=at.store, blobs=at.blobs).faults] == [
        "entry 11 (proved):"
    ]


def test_a_lost_and_an_altered_blob_are_both_told(at: Desk) -> None:
    visit = some_visit(at)
    state = load_visit(visit, store=at.store, blobs=at.blobs)
    assert state.as_found is not None
    first, second, _ = state.as_found.photos
    at.blobs.path(first.sha256).unlink()
    at.blobs.path(second.sha256).write_bytes(b"retouched")
    found = check_visit(visit, store=at.store, blobs=at.blobs)
    assert len(found.faults) == 2
    assert all("(as-found-read)" in line and "copy" in line for line in found.faults)


def test_a_lost_document_is_told_by_check_and_by_loading(at: Desk) -> None:
    visit = some_visit(at)
    name = at.store.entries(visit)[4].data["reading"]
    at.blobs.path(name).unlink()
    assert len(check_visit(visit, store=at.store, blobs=at.blobs).faults) == 1
    with pytest.raises(IntegrityError, match="a stored document is missing"):
        load_visit(visit, store=at.store, blobs=at.blobs)


@pytest.mark.parametrize("column", ["by", "kind", "data", "previous", "hash", "at"])
def test_a_changed_row_is_told_by_check_and_by_loading(
    at: Desk, tmp_path: Path, column: str
) -> None:
    visit = some_visit(at)
    values = {"data": '{"step":"locate"}', "at": "2026-11-25T21:00:00.000000Z"}
    connection = sqlite3.connect(tmp_path / "asfound.db")
    connection.execute(
        f'UPDATE entry SET "{column}" = ? WHERE seq = 2', (values.get(column, "changed"),)
    )
    connection.commit()
    connection.close()
    found = check_visit(visit, store=at.store, blobs=at.blobs)
    assert any("entry 2" in line or "entry 3" in line for line in found.faults)
    with pytest.raises(IntegrityError, match="entry 2"):
        load_visit(visit, store=at.store, blobs=at.blobs)
