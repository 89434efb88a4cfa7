"""Visits' lines: what lists show comes from a table that every entry keeps up."""

from __future__ import annotations

import sqlite3
from dataclasses import replace
from pathlib import Path

import pytest
from sqlalchemy import create_engine, event, inspect
from sqlalchemy.pool import NullPool
from tests.ports.conftest import Database
from tests.visit_kit import MAP, VEHICLE, desk, opened, procedure

from asfound.jobs.visit_act import AddNote, TickStep, note, tick
from asfound.jobs.visit_journal import Desk
from asfound.jobs.visit_open import OpenVisit, open_visit
from asfound.model.visit_line import LineQuery, VisitLine


@pytest.fixture
def at(database: Database, tmp_path: Path) -> Desk:
    return desk(tmp_path, database.url)


def other_vehicle(at: Desk, number: str) -> str:
    request = OpenVisit(
        replace(VEHICLE, number=number), "Brindlemere", "UTC", procedure("inspection"), MAP, "bo"
    )
    return open_visit(request, store=at.store, blobs=at.blobs, clock=at.clock).id


def test_a_line_follows_its_journal(at: Desk) -> None:
    assert (at.store.line_stamp(), at.store.line_heads()) == ("", {})
    visit = opened(at)
    tick(TickStep(visit.id, "locate", "ada"), desk=at)
    state = note(AddNote(visit.id, "ada", "seal broken"), desk=at)
    (line,) = at.store.lines()
    following = state.current()
    assert following is not None
    assert (line.done, line.next_step, line.next_title) == (1, following.id, following.title)
    assert (line.entries, line.head) == (state.entries, state.head)
    assert at.store.heads([visit.id, "nobody"]) == {visit.id: (state.entries, state.head)}
    assert at.store.line_heads() == {visit.id: state.head}
    stamps = {"", at.store.line_stamp()}
    note(AddNote(visit.id, "ada", "and wet"), desk=at)
    stamps.add(at.store.line_stamp())
    other_vehicle(at, "305")
    stamps.add(at.store.line_stamp())
    assert len(stamps) == 4 and at.store.line_stamp() in stamps


def test_lists_are_filtered_and_cut(at: Desk) -> None:
    mine, theirs = opened(at).id, other_vehicle(at, "305")

    def named(query: LineQuery) -> list[str]:
        return [line.id for line in at.store.lines(query)]

    assert named(LineQuery()) == [theirs, mine]
    assert named(LineQuery(vehicles=("217",))) == [mine]
    assert named(LineQuery(limit=1, skip=1)) == [mine]
    assert named(LineQuery(closed=True)) == []
    assert len(named(LineQuery(closed=False))) == 2


def as_before(database: Database) -> None:
    """The database as the first version left it: journals and holds alone."""
    engine = create_engine(database.url, poolclass=NullPool)
    for name in inspect(engine).get_table_names():
        if name not in ("entry", "hold", "alembic_version"):
            database.change(f"DROP TABLE {name}")
    database.change("DROP INDEX ix_entry_fault_found")
    database.change("UPDATE alembic_version SET version_num = '0001'")


def test_an_older_database_gets_its_lines(at: Desk, database: Database) -> None:
    visit = opened(at).id
    tick(TickStep(visit, "locate", "ada"), desk=at)
    other_vehicle(at, "305")
    before: list[VisitLine] = list(at.store.lines())
    as_before(database)
    assert list(database.open().lines()) == before


def test_faults_of_closed_visits_are_found_without_reading_every_entry(database: Database) -> None:
    """A statement that scans a table of a million entries keeps a page waiting."""
    store = database.open()
    asked: list[str] = []
    event.listen(store._engine, "before_cursor_execute", lambda *call: asked.append(call[2]))
    assert list(store.closed_entries("fault-found")) == []
    [statement] = [text for text in asked if "FROM entry" in text]
    if database.server:
        with database.server.connect(database.name) as server:
            # An empty table is read whole, whatever indices there are.
            server.execute("SET enable_seqscan = off")
            rows = server.execute(f"EXPLAIN {statement}".encode(), {"closed_1": 1}).fetchall()
        plan = [row[0] for row in rows]
    else:
        assert database.file
        with sqlite3.connect(database.file) as connection:
            rows = connection.execute(f"EXPLAIN QUERY PLAN {statement}", (1,)).fetchall()
        connection.close()
        plan = [row[3] for row in rows]
    assert any("ix_entry_fault_found" in row for row in plan), plan
    assert not any(row.lstrip(" ->").upper().startswith(("SCAN", "SEQ SCAN")) for row in plan)


def test_a_damaged_line_is_made_anew_by_the_next_entry(at: Desk, database: Database) -> None:
    visit = opened(at).id
    tick(TickStep(visit, "locate", "ada"), desk=at)
    database.change("UPDATE visit_line SET plan = 'x'")
    note(AddNote(visit, "ada", "seen"), desk=at)
    (line,) = at.store.lines()
    assert (line.done, line.entries) == (1, 3)
