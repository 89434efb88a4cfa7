"""Acts on drives: what is written, what is refused, and attempts to get round what locks."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest
from tests.drive_desk import BUS, LORRY, drive_desk, drive_visit, enter, move, other_home
from tests.visit_kit import T0, SetClock

from asfound.errors import GateShut, IntegrityError, NotFound, UsageError
from asfound.jobs.drive_acts import (
    HandDrive,
    PutDrive,
    RegisterDrive,
    fit_drive,
    found_drive,
    hand_drive,
    pull_drive,
    put_drive,
    register_drive,
)
from asfound.jobs.drive_erasure import RetireDrive, WipeDrive, retire_drive, wipe_drive
from asfound.jobs.drive_locks import carries, locks
from asfound.jobs.drive_register import DriveDesk, list_drives, one_drive, writer_of
from asfound.jobs.footage_requests import AddRequest, EndRequest, add_request, answer_request
from asfound.jobs.holds import PlaceHold, ReleaseHold, place_hold, release_hold
from asfound.model.drive_register import Carries, DriveState, Place
from asfound.model.hold import Hold
from asfound.model.journal import chain_fault
from asfound.ports.backends.pictures_pillow import PillowPictures

DAY = timedelta(days=1)
WIPE = WipeDrive("S-1", "Purge", "block erase", "tool 2.8", "ada", "a new one", "bo")
RETIRE = RetireDrive("S-1", "scrapped", "ada", "worn")


@pytest.fixture
def at(tmp_path: Path) -> DriveDesk:
    return drive_desk(tmp_path)


def hold(at: DriveDesk, days: float = 3) -> Hold:
    span = (T0 - days * DAY, T0 - (days - 0.1) * DAY)
    return place_hold(PlaceHold(BUS, *span, "claim", "office"), store=at.store, clock=SetClock())


def pulled(at: DriveDesk) -> None:
    enter(at)
    pull_drive(move("s-1"), desk=at)


def test_each_home_writes_its_own_chained_log(at: DriveDesk) -> None:
    enter(at)
    pull_drive(move("S-1"), desk=other_home(at))
    pull_drive(move(" s-1 "), desk=at)
    names = {entry.visit for entry in at.log.drive_entries()}
    writers = [writer_of(at.keys), writer_of(other_home(at).keys)]
    assert names == {f"{one}/s-1" for one in writers}
    # RFC 8032 7.1 gives no key of our seeds; the name is the key's own first 8 bytes.
    assert writers[0] == at.keys.own().public[:8].hex()
    for name in names:
        assert chain_fault(at.log.drive_entries(name)) is None


def test_a_drive_is_named_by_serial_id_or_label(at: DriveDesk) -> None:
    made = enter(at)
    for name in ("S-1", " s-1", made.id, made.id.lower()):
        assert one_drive(name, at.log, at.store).serial == "s-1"
    with pytest.raises(NotFound, match="drive list"):
        one_drive("S-9", at.log, at.store)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"serial": "a/b"}, "may hold"), ({"serial": " "}, "empty"), ({"kind": "tape"}, "hdd, ssd"),
        ({"capacity_bytes": 0}, "size"), ({"by": ""}, "--by"), ({"new": True}, "is fitted"),
    ],
)  # fmt: skip
def test_what_cannot_be_registered(at: DriveDesk, change: dict[str, object], said: str) -> None:
    asked = RegisterDrive("S-1", "ssd", 10**12, "ada", vehicle=BUS)
    with pytest.raises(UsageError, match=said):
        register_drive(replace(asked, **change), desk=at)  # type: ignore[arg-type]  # by name
    assert list(at.log.drive_entries()) == []


def test_who_why_and_when_are_asked_for(at: DriveDesk) -> None:
    enter(at)
    for wrong, said in (
        (replace(move("S-1"), by=" "), "--by"),
        (replace(move("S-1"), reason=""), "--reason"),
        (replace(move("S-1"), when=T0 + DAY), "future"),
        (replace(move("S-1"), when=T0.replace(tzinfo=None)), "zone"),
    ):
        with pytest.raises(UsageError, match=said):
            pull_drive(wrong, desk=at)
    pull_drive(replace(move("S-1"), when=T0 - DAY), desk=at)
    with pytest.raises(UsageError, match="before the drive's last move"):
        fit_drive(replace(move("S-1"), when=T0 - 2 * DAY), desk=at)
    for where, act in (("", found_drive), ("bag", put_drive)):
        with pytest.raises(UsageError, match=r"--where|--in"):
            act(PutDrive("S-1", "pocket", "ada", "r", ""), desk=at), where


def test_a_drive_that_only_a_visit_names_is_registered_first(at: DriveDesk) -> None:
    drive_visit(at, "S-1", "S-7")
    with pytest.raises(UsageError, match="not registered; asfound drive register"):
        fit_drive(move("S-7"), desk=at)
    made = register_drive(RegisterDrive("S-7", "ssd", 10**12, "ada"), desk=at)
    assert made.vehicle == "217" and made.stays[0].start is not None


def test_the_receiver_signs_with_a_picture_that_is_kept_clean(at: DriveDesk) -> None:
    pulled(at)
    pictures = PillowPictures()
    page = np.full((80, 300, 3), 250, np.uint8)
    page[30:40, 50:250] = 20
    signed = pictures.encode_jpeg(page, 90)
    before = one_drive("S-1", at.log, at.store).events[-1].hash
    asked = HandDrive("S-1", "Bo", "ada", "to copy", "North depot", signed)
    made = hand_drive(asked, desk=at, pictures=pictures)
    assert made.holder == "Bo" and made.hands[-1].head == before
    kept = at.blobs.get(made.hands[-1].picture)
    assert kept != signed and pictures.decode(kept, "kept").pixels.shape[1] < 300
    blank = pictures.encode_jpeg(np.full((80, 300, 3), 250, np.uint8), 90)
    for wrong, said in (
        (replace(asked, picture=blank, by="Bo", to="cy"), "blank"),
        (replace(asked, to=" "), "--to"),
        (replace(asked, to="ADA"), "himself"),
    ):
        with pytest.raises(UsageError, match=said):
            hand_drive(wrong, desk=at, pictures=pictures)
    by_name = hand_drive(HandDrive("S-1", "cy", "Bo", "r"), desk=at, pictures=pictures)
    assert by_name.faults == () and by_name.hands[-1].picture == ""


# --- what locks wiping and retiring, and attempts to get round it --------------------------


def test_a_fitted_drive_is_neither_wiped_nor_retired(at: DriveDesk) -> None:
    enter(at)
    acts: list[Callable[[], DriveState]] = [
        lambda: wipe_drive(WIPE, desk=at),
        lambda: retire_drive(RETIRE, desk=at),
    ]
    for act in acts:
        with pytest.raises(GateShut, match=r"fitted in 217; asfound drive pulled S-1"):
            act()
    pull_drive(move("S-1"), desk=at)
    assert wipe_drive(WIPE, desk=at).proof is not None
    gone = retire_drive(RETIRE, desk=at)
    assert gone.place is Place.GONE
    with pytest.raises(UsageError, match="retired by ada already"):
        retire_drive(RETIRE, desk=at)


def test_a_hold_locks_until_it_is_released(at: DriveDesk) -> None:
    pulled(at)
    made = hold(at)
    acts: list[Callable[[], DriveState]] = [
        lambda: wipe_drive(WIPE, desk=at),
        lambda: retire_drive(RETIRE, desk=at),
    ]
    for act in acts:
        with pytest.raises(GateShut, match=f"{made.id}.*claim.*hold release"):
            act()
    release_hold(ReleaseHold(made.id, "office", "copied"), store=at.store, clock=SetClock())
    assert wipe_drive(WIPE, desk=at).proof is not None


def test_an_open_request_locks_until_it_is_answered(at: DriveDesk) -> None:
    pulled(at)
    asked = AddRequest(BUS, T0 - 3 * DAY, T0 - 2 * DAY, (), "claim", "insurer", "office")
    made = add_request(asked, log=at.requests, store=at.store, clock=SetClock())
    with pytest.raises(GateShut, match=f"{made.id}.*asks for.*request answer"):
        wipe_drive(WIPE, desk=at)
    answer = EndRequest(made.id, "office", "copied")
    answer_request(answer, log=at.requests, clock=SetClock())
    assert retire_drive(RETIRE, desk=at).place is Place.GONE


def test_a_clock_set_back_makes_nothing_younger_and_opens_nothing(at: DriveDesk) -> None:
    pulled(at)
    hold(at)
    earlier = replace(at, clock=SetClock(T0 - 300 * DAY))
    with pytest.raises(GateShut, match="claim"):
        wipe_drive(WIPE, desk=earlier)
    with pytest.raises(UsageError, match="last move"):
        wipe_drive(replace(WIPE, when=T0 - 200 * DAY), desk=earlier)
    last = one_drive("S-1", at.log, at.store).events[-1]
    made = put_drive(PutDrive("S-1", "store", "ada", "r"), desk=earlier)
    assert made.events[-1].at > last.at and made.place is Place.STORE
    there = put_drive(PutDrive("S-1", "bag", "bo", "r"), desk=other_home(earlier))
    assert there.holder == "bo" and there.events[-1].at > made.events[-1].at


def test_a_hold_that_comes_meanwhile_counts(at: DriveDesk) -> None:
    """Somebody looked when nothing locked it; on another device a hold was placed."""
    pulled(at)
    state = one_drive("S-1", at.log, at.store)
    assert locks(state, store=at.store, requests=at.requests) == ()
    hold(at)
    with pytest.raises(GateShut, match="hold-217-1"):
        retire_drive(RETIRE, desk=at)
    assert one_drive("S-1", at.log, at.store) == state


def test_refitting_elsewhere_or_registering_anew_does_not_free_it(at: DriveDesk) -> None:
    pulled(at)
    hold(at)
    fit_drive(move("S-1", LORRY), desk=at)
    pull_drive(move("S-1", LORRY), desk=at)
    register_drive(RegisterDrive("s-1", "ssd", 10**12, "ada"), desk=at)
    with pytest.raises(UsageError, match="not new"):
        register_drive(RegisterDrive("s-1", "ssd", 10**12, "ada", new=True), desk=at)
    with pytest.raises(GateShut, match="claim"):
        wipe_drive(WIPE, desk=at)


def test_a_visit_that_said_where_it_came_from_locks_it(at: DriveDesk) -> None:
    drive_visit(at, "S-1", "S-7")
    register_drive(RegisterDrive("S-1", "ssd", 10**12, "ada"), desk=at)
    register_drive(RegisterDrive("S-7", "ssd", 10**12, "ada"), desk=at)
    hold(at)
    with pytest.raises(GateShut, match="claim"):
        wipe_drive(WIPE, desk=at)


def test_where_nobody_said_where_it_recorded_it_may_carry_anything(at: DriveDesk) -> None:
    enter(at, vehicle=None)
    register_drive(RegisterDrive("S-3", "card", 10**11, "ada", new=True), desk=at)
    hold(at)
    with pytest.raises(GateShut, match="nobody said where it recorded"):
        wipe_drive(WIPE, desk=at)
    assert wipe_drive(replace(WIPE, drive="S-3"), desk=at).proof is not None
    pull_drive(move("S-1", LORRY), desk=at)
    assert wipe_drive(WIPE, desk=at).proof is not None


def test_what_a_drive_carries_by_spans(at: DriveDesk) -> None:
    state = enter(at, vehicle=None)
    state = fit_drive(replace(move("S-1"), when=T0 - 10 * DAY), desk=at)
    pull_drive(replace(move("S-1"), when=T0 - 5 * DAY), desk=at)
    state = one_drive("S-1", at.log, at.store)

    def told(first: float, last: float, vehicle: str = "217") -> Carries:
        return carries(state, vehicle, T0 - first * DAY, T0 - last * DAY)

    assert told(8, 7) is told(12, 9.5) is told(5.5, 2) is Carries.YES
    # Swaps are written up in the evening: a day either way may be on it.
    assert told(4.5, 4.2) is told(10.9, 10.5) is Carries.YES
    assert told(3.9, 3) is told(20, 11.1) is told(8, 7, "305") is Carries.NO
    wiped = wipe_drive(WIPE, desk=at)
    assert carries(wiped, "217", T0 - 8 * DAY, T0 - 7 * DAY) is Carries.NO


def test_a_wipe_that_nobody_verified_empties_nothing(at: DriveDesk) -> None:
    pulled(at)
    wipe_drive(replace(WIPE, verified_by=""), desk=at)
    hold(at)
    with pytest.raises(GateShut, match="claim"):
        retire_drive(RETIRE, desk=at)


@pytest.mark.parametrize("change", [{"category": "gone"}, {"method": " "}, {"tool": ""}])
def test_a_proof_says_category_method_and_tool(at: DriveDesk, change: dict[str, str]) -> None:
    pulled(at)
    with pytest.raises(UsageError, match=r"clear, purge, destroy|--method TEXT --tool TEXT"):
        wipe_drive(replace(WIPE, **change), desk=at)  # type: ignore[arg-type]  # by name


def test_an_altered_log_is_refused(at: DriveDesk) -> None:
    enter(at)
    good = list(at.log.drive_entries())

    class Altered:
        def append_drive(self, entry: object) -> None: ...

        def drive_entries(self, log: str | None = None) -> object:
            return [replace(good[0], by="bo")]

    with pytest.raises(IntegrityError, match="changed after it was written"):
        list_drives(Altered(), at.store)  # type: ignore[arg-type]  # a log that lies
