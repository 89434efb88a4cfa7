"""Holds: placed and released with names, reasons and times, and never silently."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from tests.visit_kit import T0, VEHICLE, desk

from asfound.errors import IntegrityError, NotFound, UsageError
from asfound.jobs.holds import PlaceHold, ReleaseHold, list_holds, place_hold, release_hold
from asfound.jobs.visit_journal import Desk
from asfound.model.hold import Hold

ORDER = PlaceHold(VEHICLE, T0, T0 + timedelta(hours=2), " claim  4711 ", "office")


@pytest.fixture
def at(tmp_path: Path) -> Desk:
    return desk(tmp_path)


def test_a_hold_is_placed_listed_and_released(at: Desk) -> None:
    first = place_hold(ORDER, store=at.store, clock=at.clock)
    second = place_hold(ORDER, store=at.store, clock=at.clock)
    other = place_hold(
        replace(ORDER, vehicle=replace(VEHICLE, number="B 9")), store=at.store, clock=at.clock
    )
    assert [first.id, second.id, other.id] == ["hold-217-1", "hold-217-2", "hold-b9-1"]
    assert (first.reason, first.active) == ("claim 4711", True)
    released = release_hold(ReleaseHold(first.id, "bo", "copied"), store=at.store, clock=at.clock)
    assert (released.released_by, released.release_reason) == ("bo", "copied")
    assert list(list_holds("217", store=at.store)) == [released, second]
    assert len(list_holds(store=at.store)) == 3


def test_what_a_hold_needs(at: Desk) -> None:
    naive = datetime(2026, 11, 25, 8, 0)
    for wrong, text in (
        (replace(ORDER, by=""), "--by"),
        (replace(ORDER, reason=" "), "--reason"),
        (replace(ORDER, end=T0 - timedelta(seconds=1)), "ends before it starts"),
        (replace(ORDER, start=naive), "zone"),
        # A year of less than four figures is a slip, and RFC 3339 cannot write it.
        (replace(ORDER, start=datetime(1, 1, 1, tzinfo=UTC)), "years 2000 to 2099"),
        (replace(ORDER, end=datetime(9999, 12, 31, tzinfo=UTC)), "years 2000 to 2099"),
        (replace(ORDER, reason="claim\x1b[2J"), r"U\+001B"),
    ):
        with pytest.raises(UsageError, match=text):
            place_hold(wrong, store=at.store, clock=at.clock)
    assert list(at.store.holds()) == []


def test_releasing_takes_a_hold_that_is_there_and_active(at: Desk) -> None:
    made = place_hold(ORDER, store=at.store, clock=at.clock)
    with pytest.raises(NotFound, match="hold list"):
        release_hold(ReleaseHold("hold-9-9", "bo", "x"), store=at.store, clock=at.clock)
    with pytest.raises(UsageError, match="--reason"):
        release_hold(ReleaseHold(made.id, "bo", ""), store=at.store, clock=at.clock)
    release_hold(ReleaseHold(made.id, "bo", "copied"), store=at.store, clock=at.clock)
    with pytest.raises(UsageError, match="released by bo already"):
        release_hold(ReleaseHold(made.id, "cy", "again"), store=at.store, clock=at.clock)


def test_two_places_at_once_get_two_numbers(at: Desk) -> None:
    class Behind:
        """A store that shows the first look before the other office's hold was there."""

        def __init__(self) -> None:
            self.looks = 0

        def holds(self, vehicle: str | None = None) -> list[Hold]:
            self.looks += 1
            return [] if self.looks == 1 else list(at.store.holds(vehicle))

        def save_hold(self, hold: Hold) -> None:
            at.store.save_hold(hold)

        append = at.store.append
        closed_entries = at.store.closed_entries
        line_heads = at.store.line_heads
        line_stamp = at.store.line_stamp
        entries = at.store.entries
        visits = at.store.visits
        lines = at.store.lines
        heads = at.store.heads
        save_tick = at.store.save_tick
        ticks = at.store.ticks
        ticks_stamp = at.store.ticks_stamp
        save_place_picture = at.store.save_place_picture
        place_pictures = at.store.place_pictures

    place_hold(ORDER, store=at.store, clock=at.clock)
    assert place_hold(ORDER, store=Behind(), clock=at.clock).id == "hold-217-2"


def test_a_store_that_refuses_for_another_reason_is_not_asked_for_ever(at: Desk) -> None:
    class Broken:
        def holds(self, vehicle: str | None = None) -> list[Hold]:
            return []

        def save_hold(self, hold: Hold) -> None:
            raise IntegrityError("the database is damaged")

        append = at.store.append
        closed_entries = at.store.closed_entries
        line_heads = at.store.line_heads
        line_stamp = at.store.line_stamp
        entries = at.store.entries
        visits = at.store.visits
        lines = at.store.lines
        heads = at.store.heads
        save_tick = at.store.save_tick
        ticks = at.store.ticks
        ticks_stamp = at.store.ticks_stamp
        save_place_picture = at.store.save_place_picture
        place_pictures = at.store.place_pictures

    with pytest.raises(IntegrityError, match="damaged"):
        place_hold(ORDER, store=Broken(), clock=at.clock)
