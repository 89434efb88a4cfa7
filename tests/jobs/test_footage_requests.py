"""Footage requests: taken down, held, answered, closed; where the footage is; what is deleted."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.visit_kit import MAP, T0, VALUES, VEHICLE, SetClock, desk, opened, procedure

from asfound.calc.days_kept import Band
from asfound.errors import GateShut, IntegrityError, NotFound, UsageError
from asfound.jobs.deletions import LogDeleted, deletions_done, deletions_due, log_deleted
from asfound.jobs.footage_requests import (
    AddRequest,
    EndRequest,
    add_request,
    answer_request,
    close_request,
    list_requests,
    one_request,
    present,
)
from asfound.jobs.holds import ReleaseHold, release_hold
from asfound.jobs.kept_hours import AskKept, Kept, kept_hours
from asfound.jobs.request_known import Swap
from asfound.jobs.request_where import Where, in_order, locate
from asfound.jobs.size_storage import Measured
from asfound.jobs.visit_gates import require_open
from asfound.jobs.visit_journal import load_visit
from asfound.model.coverage import (
    ChannelCoverage,
    Coverage,
    CoverageVerdict,
    IgnitionLog,
    Period,
)  # fmt: skip
from asfound.model.fleet import Drive, Fleet
from asfound.model.footage_request import FootageRequest, RequestState
from asfound.model.sums import Facts
from asfound.model.visit import CoverageTaken
from asfound.ports.backends.store_sql import SqlStore

HOUR, DAY = timedelta(hours=1), timedelta(days=1)
ASKED = AddRequest(
    VEHICLE, T0 - 3 * DAY, T0 - 3 * DAY + HOUR, (2, 1), " a claim ", "insurer, by consent", "office"
)
KEPT = Kept(Band(80, 100, 120), 24.0, "proof")
WHERE = Where("S-1", KEPT)


@pytest.fixture
def store(tmp_path: Path) -> SqlStore:
    made = desk(tmp_path).store
    assert isinstance(made, SqlStore)
    return made


def add(store: SqlStore, asked: AddRequest = ASKED, at: datetime = T0) -> FootageRequest:
    return add_request(asked, log=store, store=store, clock=SetClock(at))


def test_a_request_is_taken_down_answered_and_closed(store: SqlStore) -> None:
    made, second = add(store), add(store)
    assert (made.id, second.id) == ("ask-217-1", "ask-217-2")
    assert (made.channels, made.why, made.state) == ((1, 2), "a claim", RequestState.OPEN)
    answer = EndRequest(made.id, "ada", "copied", ("217 front.mkv",))
    answered = answer_request(answer, log=store, clock=SetClock())
    assert (answered.state, answered.copies) == (RequestState.ANSWERED, ("217 front.mkv",))
    close = EndRequest(made.id, "bo", "handed over")
    closed = close_request(close, log=store, clock=SetClock())
    assert closed == one_request(store, made.id) and closed.copies == answered.copies
    assert (closed.state, closed.note, closed.done_by) == ("closed", "handed over", "bo")
    with pytest.raises(UsageError, match="closed by bo already"):
        answer_request(answer, log=store, clock=SetClock())
    assert list_requests(store, "217") == (closed, second) and list_requests(store, "9") == ()
    with pytest.raises(NotFound, match="request list"):
        one_request(store, "ask-9-9")
    # Nothing was changed: every entry is there.
    assert [one.kind for one in store.request_entries(made.id)] == ["asked", "answered", "closed"]


@given(st.text(), st.text(), st.text())
def test_any_text_is_kept_as_typed_or_refused_in_one_line(why: str, right: str, by: str) -> None:
    store = SqlStore("sqlite://")
    try:
        made = add(store, replace(ASKED, why=why, authority=right, by=by))
    except UsageError as told:
        assert "\n" not in str(told) and list_requests(store) == ()
    else:
        assert (made.why, made.by) == (" ".join(why.split()), " ".join(by.split()))
        assert one_request(store, made.id) == made
    finally:
        store.close()


@pytest.mark.parametrize(
    ("wrong", "text"),
    [
        (replace(ASKED, why="\udcff"), "unseen|U"),
        (replace(ASKED, by=" "), "--by"),
        (replace(ASKED, why=""), "wanted for"),
        (replace(ASKED, authority=" "), "what right"),
        (replace(ASKED, start=datetime(2026, 11, 1, 8)), "zone"),
        (replace(ASKED, end=ASKED.start), "ends before"),
        (replace(ASKED, start=T0 + DAY, end=T0 + 2 * DAY), "future"),
        (replace(ASKED, start=datetime(1, 1, 1, tzinfo=UTC)), "years 2000 to 2099"),
        (replace(ASKED, channels=(1, 7)), "no channel 7; it has 1, 2"),
        (replace(ASKED, clock_ahead_s=float("nan")), "that far off"),
        (replace(ASKED, clock_ahead_s=1e12), "that far off"),
        (replace(ASKED, why="a\x1b[2Jclaim"), r"U\+001B"),
    ],
)
def test_what_a_request_needs(store: SqlStore, wrong: AddRequest, text: str) -> None:
    with pytest.raises(UsageError, match=text) as told:
        add(store, replace(wrong, hold=True))
    assert "\n" not in str(told.value)
    assert list_requests(store) == () and list(store.holds()) == []


def test_a_hold_covers_true_time_and_the_recorders(store: SqlStore) -> None:
    made = add(store, replace(ASKED, hold=True, clock_ahead_s=-600.0))
    (hold,) = store.holds("217")
    assert made.hold == hold.id and hold.active
    assert (hold.start, hold.end) == (ASKED.start - timedelta(minutes=10), ASKED.end)
    close_request(EndRequest(made.id, "bo", "done"), log=store, clock=SetClock())
    assert next(iter(store.holds())).active, "closing a request releases no hold"


def test_a_hold_added_mid_visit_on_another_device_locks_the_drive(tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path / 'asfound.db'}"
    here = desk(tmp_path, url)
    visit = opened(here)
    step = next(one for one in procedure().steps if one.kind == "drive")
    elsewhere = SqlStore(url)
    made = add(elsewhere, replace(ASKED, hold=True))
    with pytest.raises(GateShut, match=made.hold):
        state = load_visit(visit.id, store=here.store, blobs=here.blobs)
        require_open(replace(state, done=()), replace(step, gates=("no-hold",)))
    for by, why in (("", "copied"), ("bo", "")):
        with pytest.raises(UsageError):
            release_hold(ReleaseHold(made.hold, by, why), store=elsewhere, clock=SetClock())
    release_hold(ReleaseHold(made.hold, "bo", "copied"), store=elsewhere, clock=SetClock())
    state = load_visit(visit.id, store=here.store, blobs=here.blobs)
    require_open(state, replace(step, gates=("no-hold",)))


def test_a_clock_set_back_makes_nothing_younger(store: SqlStore) -> None:
    made = add(store)
    back = SetClock(T0 - 365 * DAY)
    assert present(store, back) == made.at
    answer = answer_request(EndRequest(made.id, "ada", "x"), log=store, clock=back)
    assert answer.done_at is not None and answer.done_at >= made.at
    # A request of today is no request of the future because of it.
    assert add_request(ASKED, log=store, store=store, clock=back).at >= made.at


def test_altered_logs_are_told(store: SqlStore) -> None:
    made = add(store)
    with store._engine.begin() as connection:
        connection.exec_driver_sql("UPDATE request_entry SET data = replace(data, 'claim', 'joke')")
    with pytest.raises(IntegrityError, match="ask-217-1"):
        one_request(store, made.id)


def test_where_it_is_and_until_when(store: SqlStore) -> None:
    # 72 h of recording after it, round the clock; 100 are kept: 28 h are left. By hand.
    found = locate(add(store), WHERE, T0)
    assert (found.drive, found.fitted, found.likely_there) == ("S-1", True, 1.0)
    assert found.begins is not None and found.ends is not None
    for at, hours in zip(found.begins, (80, 100, 120), strict=True):
        assert abs(at - (ASKED.start + hours * HOUR)) < timedelta(seconds=1)
    assert abs(found.ends[1] - found.begins[1] - HOUR) < timedelta(seconds=1)
    later = locate(found.request, WHERE, ASKED.start + 100 * HOUR)
    assert later.likely_there == pytest.approx(0.5)
    ahead = locate(replace(found.request, clock_ahead_s=90.0), WHERE, T0)
    assert ahead.recorder[0] - ahead.request.start == timedelta(seconds=90)
    assert ahead.begins == found.begins and "90 s ahead" in ahead.notes[0]


def test_what_the_recorder_deletes_or_no_longer_records(store: SqlStore) -> None:
    made = add(store)
    short = locate(made, replace(WHERE, kept=replace(KEPT, delete_after_d=2.0)), T0)
    assert short.likely_there == 0
    soon = locate(made, replace(WHERE, kept=replace(KEPT, delete_after_d=3.1)), T0)
    assert soon.begins is not None and soon.begins[2] == made.start + 3.1 * DAY
    stops = locate(made, replace(WHERE, kept=replace(KEPT, stops=True)), T0)
    assert (stops.likely_there, stops.begins) == (None, None)
    blind = locate(made, replace(WHERE, kept="nothing is known"), T0)
    assert blind.likely_there is None and "nothing is known" in blind.notes


def taken(oldest: datetime, newest: datetime, missing: tuple[Period, ...] = ()) -> CoverageTaken:
    rows = tuple(
        ChannelCoverage(number, 1, 1, 1.0, missing, 0, oldest, newest, 1, None) for number in (1, 2)
    )
    window = Period(oldest, newest)
    made = Coverage(CoverageVerdict.COMPLETE, window, 0.0, 60.0, rows)
    return CoverageTaken(made, "ignition", "log.csv", (), "ada", newest)


def test_hours_counted_on_disk_are_stronger(store: SqlStore) -> None:
    made, now = add(store), ASKED.start + 110 * HOUR
    bare = locate(made, WHERE, now)
    seen_at = ASKED.start + 100 * HOUR
    seen = locate(made, replace(WHERE, coverage=(taken(made.start, seen_at),)), now)
    assert bare.likely_there == pytest.approx(0.125) and seen.likely_there == pytest.approx(0.25)
    assert seen.begins is not None and seen.begins[0] == seen_at
    gone = locate(made, replace(WHERE, coverage=(taken(made.end + HOUR, seen_at),)), T0)
    assert gone.likely_there == 0
    hole = (Period(made.start, made.end),)
    holed = locate(made, replace(WHERE, coverage=(taken(made.start, seen_at, hole),)), now)
    assert holed.likely_there == bare.likely_there
    wrong = replace(WHERE, coverage=(taken(made.start, made.start + 130 * HOUR),))
    assert locate(made, wrong, made.start + 131 * HOUR).likely_there is None


def test_a_drive_that_was_changed_since(store: SqlStore) -> None:
    made = add(store)
    out = Swap("v-1", "S-0", made.end + HOUR)
    pulled = locate(made, replace(WHERE, swaps=(out,)), T0 + 90 * DAY)
    assert (pulled.drive, pulled.fitted, pulled.likely_there) == ("S-0", False, 1.0)
    assert pulled.begins is None and any("v-1" in line for line in pulled.notes)
    same = replace(out, serial="S-1")
    assert locate(made, replace(WHERE, swaps=(same,)), T0).likely_there == 0
    before = replace(out, at=made.start - HOUR)
    assert locate(made, replace(WHERE, swaps=(before,)), T0).fitted


def test_what_to_do_first(store: SqlStore) -> None:
    late, soon = add(store), add(store, replace(ASKED, start=T0 - 3.2 * DAY))
    gone = add(store, replace(ASKED, start=T0 - 90 * DAY, end=T0 - 89 * DAY))
    done = close_request(EndRequest(add(store).id, "bo", "x"), log=store, clock=SetClock())
    found = in_order([locate(one, WHERE, T0) for one in (done, gone, late, soon)])
    assert [one.request.id for one in found] == [soon.id, late.id, gone.id, done.id]


def test_a_log_narrows_the_hours(store: SqlStore) -> None:
    made = add(store)
    kept = replace(KEPT, hours_a_day=10.0, hours=Band(20, 25, 30))
    even = locate(made, replace(WHERE, kept=kept), T0)
    log = IgnitionLog(
        tuple(Period(made.start + n * DAY, made.start + n * DAY + 10 * HOUR) for n in range(5))
    )
    known = locate(made, replace(WHERE, kept=kept, log=log), T0)
    assert even.begins and known.begins
    assert known.begins[2] - known.begins[0] < even.begins[2] - even.begins[0]
    # 25 h of recording at 10 h a day: five hours into the third day. By hand.
    assert abs(known.begins[1] - (made.start + 2 * DAY + 5 * HOUR)) < timedelta(seconds=1)


def test_hours_kept_from_a_proof_and_what_is_missing() -> None:
    facts = Facts(drive_bytes=1e12, hours_a_day=10.0)
    measured = [Measured(1, 60.0, 8e6)] * 12
    kept = kept_hours(AskKept(facts, measured=measured))
    # 1e12 byte less 2 % at 1e6 byte/s are 272.2 h. By hand.
    assert isinstance(kept, Kept) and kept.hours.likely == pytest.approx(272.22, abs=0.01)
    for lack, text in (
        (AskKept(facts), "neither"),
        (AskKept(replace(facts, drive_bytes=None), measured=measured), "size of the drive"),
        (AskKept(replace(facts, hours_a_day=None), measured=measured), "hours a day"),
        (AskKept(facts, MAP, "1.0", VALUES), "bit rate of channel 1"),
    ):
        told = kept_hours(lack)
        assert isinstance(told, str) and text in told


def test_what_must_be_deleted_and_what_was(store: SqlStore) -> None:
    fleet = Fleet("F", "UTC", (replace(VEHICLE, drive=Drive("S-1", 10**12)),), (), 14, 31)
    made = add(store)
    answer_request(EndRequest(made.id, "ada", "x", ("a.mkv", "b.mkv")), log=store, clock=SetClock())
    due = deletions_due(fleet, log=store, store=store)
    assert [one.item for one in due] == ["events-217", f"{made.id}/copy-1", f"{made.id}/copy-2"]
    assert due[1].due == made.start + 31 * DAY
    item = due[1].item
    for wrong, text in (
        (LogDeleted(item, "", "shredded"), "--by"),
        (LogDeleted(item, "bo", " "), "--note"),
        (LogDeleted("copy-9", "bo", "x"), "deletions"),
    ):
        with pytest.raises(UsageError, match=text):
            log_deleted(wrong, fleet, log=store, store=store, clock=SetClock())
    log_deleted(LogDeleted(item, "bo", "wiped"), fleet, log=store, store=store, clock=SetClock())
    log_deleted(LogDeleted("events-217", "bo", "by menu"), fleet, log=store, store=store,
                clock=SetClock())  # fmt: skip
    assert [one.item for one in deletions_done(store)] == [item, "events-217"]
    left = {one.item: one for one in deletions_due(fleet, log=store, store=store)}
    assert item not in left and left["events-217"].due > T0 + 30 * DAY
    held = add(store, replace(ASKED, hold=True)).hold
    with pytest.raises(UsageError, match=held):
        log_deleted(LogDeleted("events-217", "bo", "x"), fleet, log=store, store=store,
                    clock=SetClock())  # fmt: skip
    assert [one.kind for one in store.request_entries("deletions")] == ["deleted", "deleted"]
    with pytest.raises(UsageError, match="maximum_days"):
        deletions_due(replace(fleet, maximum_days=None), log=store, store=store)
