"""Hours on disk in a visit's journal: kept, replaced, told to be from before a change, checked."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from tests.visit_kit import MAP, T0, VALUES, desk, opened, reading

from asfound.errors import IntegrityError, UsageError
from asfound.jobs.coverage import Cover
from asfound.jobs.visit_act import CloseVisit, OverrideGate, TickStep, close_visit, override, tick
from asfound.jobs.visit_check import check_visit
from asfound.jobs.visit_cover import VisitCover, since_change, visit_cover
from asfound.jobs.visit_fold import fold
from asfound.jobs.visit_journal import Desk, load_visit
from asfound.jobs.visit_record import RecordReading, record_as_found
from asfound.model.coverage import CoverageVerdict, Hours, IgnitionLog, Period, Piece, Schedule
from asfound.model.journal import next_entry

HOUR = timedelta(hours=1)
DROVE = IgnitionLog((Period(T0 - 4 * HOUR, T0),))
ALL_WEEK = Schedule("Europe/London", (Hours(tuple(range(7)), 0, 1440),))


@pytest.fixture
def at(tmp_path: Path) -> Desk:
    return desk(tmp_path)


def asked(visit: str, hours: float = 4, expected: IgnitionLog | Schedule = DROVE) -> VisitCover:
    """Channel 1 recorded the last ``hours`` before T0."""
    piece = Piece(1, "one.mp4", T0 - hours * HOUR, T0)
    return VisitCover(visit, Cover((piece,), expected, T0), "log.csv", ("/media/drive",), "ada")


def test_a_count_is_kept_with_what_it_was_held_against(at: Desk) -> None:
    visit = opened(at, "inspection").id
    state = visit_cover(asked(visit), desk=at)
    [taken] = state.coverage
    assert (taken.against, taken.file, taken.paths) == ("ignition", "log.csv", ("/media/drive",))
    assert taken.by == "ada" and taken.coverage.verdict is CoverageVerdict.COMPLETE
    assert taken.coverage.channels[0].share == 1.0
    assert load_visit(visit, store=at.store, blobs=at.blobs).coverage == state.coverage
    entry = at.store.entries(visit)[-1]
    assert entry.kind == "coverage-taken"
    assert b"driven" in at.blobs.get(entry.data["expected"])
    checked = check_visit(visit, store=at.store, blobs=at.blobs)
    assert checked.faults == () and checked.blobs >= 3  # menu map, coverage, log


def test_a_lost_log_or_count_is_told_by_the_check(at: Desk, tmp_path: Path) -> None:
    visit = opened(at, "inspection").id
    visit_cover(asked(visit, expected=ALL_WEEK), desk=at)
    data = at.store.entries(visit)[-1].data
    assert data["against"] == "schedule"
    for key in ("expected", "coverage"):
        name = data[key]
        path = tmp_path / "blobs" / name[:2] / name[2:]
        path.chmod(0o600)
        path.unlink()
        faults = check_visit(visit, store=at.store, blobs=at.blobs).faults
        assert any(name in fault and "coverage-taken" in fault for fault in faults)


def test_counting_again_replaces_and_a_change_keeps_the_count_before_it(at: Desk) -> None:
    visit = opened(at).id
    for step in ("locate", "power", "monitor"):
        tick(TickStep(visit, step, "ada"), desk=at)
    record_as_found(RecordReading(visit, MAP, reading(VALUES, at), "ada"), desk=at)
    visit_cover(asked(visit, 1), desk=at)
    state = visit_cover(asked(visit, 2), desk=at)
    [found] = state.coverage
    assert found.coverage.channels[0].days_kept == pytest.approx(2 / 24)
    assert since_change(state, found)
    tick(TickStep(visit, "firmware", "ada", "", "2.0", MAP), desk=at)
    state = visit_cover(asked(visit, 3), desk=at)
    before, after = state.coverage
    assert before == found and not since_change(state, before) and since_change(state, after)


def test_a_closed_visit_takes_no_count_and_opens_no_file(at: Desk) -> None:
    visit = opened(at, "inspection").id
    close = at_close(at, visit)
    before = close_visit(close, desk=at)

    def pieces() -> Iterator[Piece]:
        raise AssertionError("a recording was opened")
        yield

    late = VisitCover(visit, Cover(pieces(), DROVE, T0), "log.csv", (), "ada")
    with pytest.raises(UsageError, match="closed and takes no more entries"):
        visit_cover(late, desk=at)
    assert load_visit(visit, store=at.store, blobs=at.blobs) == before


def at_close(at: Desk, visit: str) -> CloseVisit:
    """Everything before closing is passed over, with a reason."""
    for gate in load_visit(visit, store=at.store, blobs=at.blobs).procedure.steps[-1].gates:
        if gate != "no-hold":
            try:
                override(OverrideGate(visit, "close", gate, "ada", "tried out"), desk=at)
            except UsageError as error:
                assert "nothing to override" in str(error)
    return CloseVisit(visit, "ada")


def test_nothing_is_kept_when_the_count_cannot_be_made(at: Desk) -> None:
    visit = opened(at, "inspection").id
    before = load_visit(visit, store=at.store, blobs=at.blobs)
    nothing = VisitCover(visit, Cover((), ALL_WEEK, T0), "plan.toml", (), "ada")
    with pytest.raises(UsageError, match="give --since"):
        visit_cover(nothing, desk=at)
    assert load_visit(visit, store=at.store, blobs=at.blobs) == before


@pytest.mark.parametrize("data", [{}, {"coverage": "0" * 64, "against": "ignition"}])
def test_an_entry_that_lacks_what_it_needs_is_told(at: Desk, data: dict[str, str]) -> None:
    visit = opened(at, "inspection").id
    entries = list(at.store.entries(visit))
    entries.append(next_entry(entries, visit, T0, "ada", "coverage-taken", data))

    def fetch(name: str) -> bytes:
        if name == "0" * 64:
            raise IntegrityError("a stored document is missing")
        return at.blobs.get(name)

    with pytest.raises(IntegrityError) as caught:
        fold(entries, fetch)
    assert "\n" not in str(caught.value)
