"""Visits' lines: what lists show comes from a table that every entry keeps up."""

from __future__ import annotations

import sqlite3
from dataclasses import replace
from pathlib import Path

import pytest
from sqlalchemy import event
from tests.visit_kit import MAP, VEHICLE, desk, opened, procedure

from asfound.jobs.visit_act import AddNote, TickStep, note, tick
from asfound.jobs.visit_journal import Desk
from asfound.jobs.visit_open import OpenVisit, open_visit
from asfound.model.visit_line import LineQuery, VisitLine
from asfound.ports.backends.store_sql import SqlStore


@pytest.fixture
def at(tmp_path: Path) -> Desk:
    return desk(tmp_path, f"sqlite:///{tmp_path / 'asfound.db'}")


def other_vehicle(at: Desk, number: str) -> str:
    request = OpenVisit(
        replace(VEHICLE, number=number), "Brindlemere", "UTC", procedure("inspection"), MAP, "bo"
    )
    return open_visit(request, store=at.store, blobs=at.blobs, clock=at.clock).id


def test_a_line_follows_its_journal(at: Desk) -> None:
    visit = opened(at)
    tick(TickStep(visit.id, "locate", "ada"), desk=at)
    state = note(AddNote(visit.id, "ada", "seal broken"), desk=at)
    (line,) = at.store.lines()
    following = state.current()
    assert following is not None
    assert (line.done, line.next_step, line.next_title) == (1, following.id, following.title)
    assert (line.entries, line.head) == (state.entries, state.head)
    assert at.store.heads([visit.id, "nobody"]) == {visit.id: (state.entries, state.head)}


def test_lists_are_filtered_and_cut(at: Desk) -> None:
    mine, theirs = opened(at).id, other_vehicle(at, "305")

    def named(query: LineQuery) -> list[str]:
        return [line.id for line in at.store.lines(query)]

    assert named(LineQuery()) == [theirs, mine]
    assert named(LineQuery(vehicles=("217",))) == [mine]
    assert named(LineQuery(limit=1, skip=1)) == [mine]
    assert named(LineQuery(closed=True)) == []
    assert len(named(LineQuery(closed=False))) == 2


def as_before(folder: Path) -> None:
    """The database as the first version left it: journals and holds alone."""
    with sqlite3.connect(folder / "asfound.db") as connection:
        tables = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
        for (name,) in tables.fetchall():
            if name not in ("entry", "hold", "alembic_version"):
                connection.execute(f"DROP TABLE {name}")
        connection.execute("DROP INDEX ix_entry_fault_found")
        connection.execute("UPDATE alembic_version SET version_num = '0001'")
    connection.close()


def test_an_older_database_gets_its_lines(at: Desk, tmp_path: Path) -> None:
    visit = opened(at).id
    tick(TickStep(visit, "locate", "ada"), desk=at)
    other_vehicle(at, "305")
    before: list[VisitLine] = list(at.store.lines())
    as_before(tmp_path)
    assert list(SqlStore(f"sqlite:///{tmp_path / 'asfound.db'}").lines()) == before


def test_faults_of_closed_visits_are_found_without_reading_every_entry(tmp_path: Path) -> None:
    """A statement that scans a table of a million entries keeps a page waiting."""
    store = SqlStore(f"sqlite:///{tmp_path / 'asfound.db'}")
    asked: list[str] = []
    event.listen(store._engine, "before_cursor_execute", lambda *call: asked.append(call[2]))
    assert list(store.closed_entries("fault-found")) == []
    [statement] = [text for text in asked if "FROM entry" in text]
    with sqlite3.connect(tmp_path / "asfound.db") as connection:
        plan = connection.execute(f"EXPLAIN QUERY PLAN {statement}", (1,)).fetchall()
    connection.close()
    store.close()
    assert any("ix_entry_fault_found" in row[3] for row in plan)
    assert not any(row[3].startswith("SCAN") for row in plan)


def test_a_damaged_line_is_made_anew_by_the_next_entry(at: Desk, tmp_path: Path) -> None:
    visit = opened(at).id
    tick(TickStep(visit, "locate", "ada"), desk=at)
    with sqlite3.connect(tmp_path / "asfound.db") as connection:
        connection.execute("UPDATE visit_line SET plan = 'x'")
    connection.close()
    note(AddNote(visit, "ada", "seen"), desk=at)
    (line,) = at.store.lines()
    assert (line.done, line.entries) == (1, 3)
