"""Logs of drives, of deletions, and notes without visits, from one laptop to another."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tests.bundle_kit import Laptop, dump, laptop, nothing_in, resealed, small_visit, with_more
from tests.drive_desk import BUS, FLEET, LORRY, FixedKeys, enter, move
from tests.visit_kit import T0, VEHICLE

from asfound.errors import IntegrityError, UsageError
from asfound.jobs.deletions import LogDeleted, deletions_done, log_deleted
from asfound.jobs.drive_acts import HandDrive, fit_drive, hand_drive, pull_drive
from asfound.jobs.drive_findings import drive_findings
from asfound.jobs.drive_register import DriveDesk, list_drives, one_drive
from asfound.jobs.holds import PlaceHold, place_hold
from asfound.model.journal import Entry, canonical_json, next_entry, rfc3339
from asfound.ports.backends.pictures_pillow import PillowPictures

RECORDS = "data/bundle.jsonl"


def drives(at: Laptop, home: int) -> DriveDesk:
    return DriveDesk(at.store, at.store, at.store, at.blobs, at.clock, FixedKeys(home))


def findings(at: Laptop) -> set[tuple[str, str]]:
    made = drive_findings(
        list_drives(at.store, at.store), FLEET, at.clock.now(), store=at.store, requests=at.store
    )
    return {(one.kind, one.serial) for one in made}


@pytest.fixture
def homes(tmp_path: Path) -> Iterator[list[Laptop]]:
    made = [laptop(tmp_path / name) for name in ("one", "two", "office")]
    yield made
    for at in made:
        at.store.close()


def test_two_laptops_that_both_say_they_have_the_drive_are_a_finding_at_the_office(
    homes: list[Laptop], tmp_path: Path
) -> None:
    one, two, office = homes
    small_visit(one)
    enter(drives(one, 1))
    # The second laptop knows the drive from elsewhere: in another lorry.
    enter(drives(two, 2), vehicle=LORRY)
    two.clock.at += timedelta(hours=1)
    pull_drive(move("S-1", LORRY, by="bo"), desk=drives(two, 2))
    two.export(tmp_path / "bag-two", notes=True)
    one.export(tmp_path / "bag-one", *one.store.visits())
    assert findings(two).isdisjoint({("two-places", "s-1"), ("gap", "s-1")})
    for bag in ("bag-two", "bag-one", "bag-two"):
        office.take(tmp_path / bag)
    assert ("two-places", "s-1") in findings(office)
    third = laptop(tmp_path / "third")
    for bag in ("bag-one", "bag-two"):
        third.take(tmp_path / bag)
    assert dump(third.store) == dump(office.store)
    third.store.close()


def test_a_visit_takes_the_drives_of_its_vehicle_along_and_no_others(
    homes: list[Laptop], tmp_path: Path
) -> None:
    one, office, _ = homes
    visit = small_visit(one)
    desk = drives(one, 1)
    enter(desk)
    pull_drive(move("S-1"), desk=desk)
    enter(desk, "S-2", LORRY)
    enter(desk, "S-3", LORRY)
    pull_drive(move("S-3", LORRY), desk=desk)
    fit_drive(move("S-3", BUS), desk=desk)
    signed = np.full((80, 300, 3), 250, np.uint8)
    signed[20:60, 40:200] = 20
    pictures = PillowPictures()
    asked = HandDrive("S-1", "ines", "ada", "claim", picture=pictures.encode_jpeg(signed, 90))
    hand_drive(asked, desk=desk, pictures=pictures)
    one.export(tmp_path / "bag", visit)
    made = office.take(tmp_path / "bag")
    assert [name.partition("/")[2] for name in made.merged.drives] == ["s-1", "s-3"]
    state = one_drive("S-1", office.store, office.store)
    assert state == one_drive("S-1", one.store, one.store) and state.holder == "ines"
    assert office.blobs.get(state.hands[0].picture) == one.blobs.get(state.hands[0].picture)
    assert office.take(tmp_path / "bag").nothing


def test_notes_bring_what_hangs_on_no_visit(homes: list[Laptop], tmp_path: Path) -> None:
    one, two, office = homes
    other = replace(VEHICLE, number="999")
    fleet = replace(FLEET, vehicles=(BUS, LORRY, other), maximum_days=31)
    with_more(one, small_visit(one))
    order = PlaceHold(LORRY, T0 - timedelta(days=2), T0 - timedelta(days=1), "claim", "ada")
    place_hold(order, store=one.store, clock=one.clock)
    for at, writer, item in ((one, "aaa", "events-999"), (two, "bbb", "events-217")):
        gone = LogDeleted(item, "bo", "by menu", writer)
        log_deleted(gone, fleet, log=at.store, store=at.store, clock=at.clock)
    for number, at in enumerate((one, two)):
        at.export(tmp_path / f"bag-{number}", notes=True)
        office.take(tmp_path / f"bag-{number}")
    assert [one.item for one in deletions_done(office.store)] == ["events-217", "events-999"]
    assert {hold.vehicle for hold in office.store.holds()} == {"217", "305"}
    assert [one.visit for one in office.store.request_entries()].count("ask-217-1") == 1
    assert not office.store.visits() and not office.store.set_aside()
    # Back again, and on: all three know the same.
    office.export(tmp_path / "all", notes=True)
    assert office.take(tmp_path / "all").nothing
    two.take(tmp_path / "all")
    assert dump(two.store) == dump(office.store)


def test_visits_or_notes_and_something_to_pack(homes: list[Laptop], tmp_path: Path) -> None:
    one = homes[0]
    visit = small_visit(one)
    for visits, notes, told in (
        ((visit,), True, "say --notes and none"),
        ((), False, "say --notes"),
        ((), True, "no holds, requests, deletions or drives here yet"),
    ):
        with pytest.raises(UsageError, match=told):
            one.export(tmp_path / "bag", *visits, notes=notes)
    assert not (tmp_path / "bag").exists()


def test_the_log_of_deletions_of_before_keys_is_still_read(homes: list[Laptop]) -> None:
    one = homes[0]
    data = {"item": "events-217", "note": "by menu"}
    old = next_entry((), "deletions", T0, "bo", "deleted", data)
    one.store.append_request(old)
    fleet = replace(FLEET, maximum_days=31)
    order = LogDeleted("events-305", "bo", "by menu", "k7f")
    log_deleted(order, fleet, log=one.store, store=one.store, clock=one.clock)
    assert {one.item for one in deletions_done(one.store)} == {"events-217", "events-305"}
    assert [one.visit for one in one.store.request_entries()] == ["deletions", "deletions-k7f"]


# --- signed by a believed key, and yet no log of a drive ---------------------------------------


def body(entry: Entry) -> dict[str, Any]:
    return {
        "at": rfc3339(entry.at), "by": entry.by, "data": dict(entry.data), "hash": entry.hash,
        "kind": entry.kind, "previous": entry.previous, "seq": entry.seq, "visit": entry.visit,
    }  # fmt: skip


WRITER = "0" * 16
GOOD = {"serial": "S-1", "kind": "ssd", "bytes": 10**12, "model": "", "new": False, "vehicle": ""}


def entry(log: str, kind: str = "registered", data: Mapping[str, Any] = GOOD) -> Entry:
    return next_entry((), log, T0, "ada", kind, data)


LIES: Mapping[str, tuple[Callable[[], list[Entry]], str]] = {
    "no writer": (lambda: [entry("s-1")], "is no entry"),
    "a path": (lambda: [entry(f"{WRITER}/../s-1")], "is no entry"),
    "unknown kind": (lambda: [entry(f"{WRITER}/s-1", "sold")], "does not read as one"),
    "no data": (lambda: [entry(f"{WRITER}/s-1", data={})], "does not read as one"),
    "a list for bytes": (
        lambda: [entry(f"{WRITER}/s-1", data={**GOOD, "bytes": []})], "does not read as one"),
    "a time without zone": (
        lambda: [entry(f"{WRITER}/s-1"), replace(entry(f"{'1' * 16}/s-1", "fitted", {
            "vehicle": "217", "reason": "x", "when": "2026-11-20T08:00:00"})),
            entry(f"{'2' * 16}/s-1", "pulled", {"vehicle": "305", "reason": "x"})],
        "does not read as one"),
    "chain broken": (
        lambda: [next_entry([entry(f"{WRITER}/s-1")], f"{WRITER}/s-1", T0, "ada", "found",
                            {"where": "x", "reason": "x"})],
        "continues one that is not there; the bundle is not whole"),
}  # fmt: skip


@pytest.mark.parametrize("name", LIES)
def test_what_is_no_log_of_a_drive_is_refused_in_one_line(
    homes: list[Laptop], tmp_path: Path, name: str
) -> None:
    one, office, _ = homes
    bag = tmp_path / "bag"
    one.export(bag, small_visit(one))
    made, told = LIES[name]
    lines = [json.loads(line) for line in (bag / RECORDS).read_text("utf-8").splitlines()]
    lines += [{"drive": body(each)} for each in made()]
    (bag / RECORDS).write_text("".join(canonical_json(line) + "\n" for line in lines), "utf-8")
    resealed(bag)
    with pytest.raises(IntegrityError) as error:
        office.take(bag)
    assert told in str(error.value) and "\n" not in str(error.value)
    assert "database" not in str(error.value)
    assert nothing_in(office) and not office.store.drive_entries()
