"""Readings, differences, proofs, holds and fleets answer for themselves."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from asfound.errors import NotFound
from asfound.model.difference import Difference, FieldDifference, Verdict
from asfound.model.finding import Finding, Kind, Proof, ProofVerdict, Recording
from asfound.model.fleet import Fleet, Recorder, Standard, Vehicle
from asfound.model.hold import Hold
from asfound.model.reading import FieldReading, Reading, State
from asfound.model.rekey import KeyRun, RekeyField, RekeyPage

SURE = FieldReading("a", "A", "On", "on", State.SURE)
DOUBT = FieldReading("b", "B", "8", "8", State.DOUBT, ("8", "3"))
UNREAD = FieldReading("c", "C", "", None, State.UNREAD)
READING = Reading("m", "1", (), (SURE, DOUBT, UNREAD), ())
VEHICLE = Vehicle("217", "QB 04 XKM", "bus", "North", "city", Recorder("m", "S", "1", "x", 24), ())


def test_only_sure_values_count_as_values() -> None:
    assert READING.sure_values() == {"a": "on"}
    assert READING.doubts() == (DOUBT, UNREAD)


def test_every_verdict_is_counted_and_open_ones_are_named() -> None:
    items = tuple(FieldDifference(v, v, v, None, None) for v in Verdict)
    difference = Difference("m", "1", items)
    assert set(difference.counts().values()) == {1}
    assert {item.verdict for item in difference.open_items()} == {
        Verdict.MISSED, Verdict.WRONG, Verdict.EXTRA, Verdict.DOUBT,
    }  # fmt: skip


def test_a_proof_lists_findings_with_their_recording() -> None:
    black = Finding(Kind.BLACK, 0.0, 3.0, 0.99, 0.98, "1", "FFmpeg blackdetect")
    recording = Recording("f", 1, "h264", 640, 360, 25.0, 3.0, 1e6, None, (black,))
    assert Proof(ProofVerdict.FAULTS, (recording,)).findings() == ((recording, black),)


def test_a_hold_is_active_until_released() -> None:
    now = datetime(2026, 3, 1, tzinfo=UTC)
    hold = Hold("h", "217", now, now, "claim", "ada", now)
    assert hold.active
    released = Hold("h", "217", now, now, "claim", "ada", now, "bo", "copied", now)
    assert not released.active


def test_vehicles_are_found_by_number_or_plate_whatever_the_spaces() -> None:
    fleet = Fleet("F", "UTC", (VEHICLE,), (Standard("m", {"a": "on"}, {}),))
    assert fleet.vehicle("217") is fleet.vehicle("qb04xkm") is VEHICLE
    assert fleet.standard("m").baseline == {"a": "on"}
    assert fleet.standard("other") == Standard("other", {}, {})
    with pytest.raises(NotFound, match="asfound fleet"):
        fleet.vehicle("999")


def test_presses_add_up() -> None:
    field = RekeyField("a", "A", "1", "3", (KeyRun("Down", 2),), (KeyRun("More", 2),))
    page = RekeyPage("p", "P", 1, (KeyRun("Next", 1),), (field,), (KeyRun("OK", 1),))
    assert field.presses == 4
    assert page.presses == 6
