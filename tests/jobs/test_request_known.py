"""What visits tell of footage: newest readings, proofs that still count, drives that came out."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from tests.visit_kit import MAP, T0, VALUES, VEHICLE, SetClock, desk, procedure, proof, reading

from asfound.jobs.request_known import known_of
from asfound.jobs.visit_act import OverrideGate, TickStep, override, tick
from asfound.jobs.visit_journal import Desk
from asfound.jobs.visit_open import OpenVisit, open_visit
from asfound.jobs.visit_record import (
    RecordProof,
    RecordReading,
    record_as_found,
    record_as_left,
    record_proof,
)  # fmt: skip
from asfound.model.finding import ProofVerdict
from asfound.model.fleet import Drive


@pytest.fixture
def at(tmp_path: Path) -> Desk:
    return desk(tmp_path)


def visit(at: Desk, name: str = "drive-swap") -> str:
    vehicle = replace(VEHICLE, drive=Drive("S-0", 10**12))
    request = OpenVisit(vehicle, "F", "Europe/London", procedure(name), MAP, "ada")
    return open_visit(request, store=at.store, blobs=at.blobs, clock=at.clock).id


def pass_gates(at: Desk, made: str, name: str, kind: str) -> str:
    """Let the step of this kind be done; returns its id."""
    step = next(one for one in procedure(name).steps if one.kind == kind)
    for gate in step.gates:
        if gate != "no-hold":
            override(OverrideGate(made, step.id, gate, "ada", "a test"), desk=at)
    return step.id


def test_nothing_is_known_of_a_vehicle_without_visits(at: Desk) -> None:
    known = known_of("217", store=at.store, blobs=at.blobs)
    assert known.map_visit is None and not (known.values or known.measured or known.swaps)


def test_rates_count_until_settings_are_keyed_in_anew(at: Desk) -> None:
    first = visit(at)
    pass_gates(at, first, "drive-swap", "read-as-found")
    record_as_found(RecordReading(first, MAP, reading(VALUES, at), "ada"), desk=at)
    pass_gates(at, first, "drive-swap", "prove")
    record_proof(RecordProof(first, proof(ProofVerdict.RECORDS, at), "ada"), desk=at)
    known = known_of("217", store=at.store, blobs=at.blobs)
    assert [(one.channel, one.bits_per_second) for one in known.measured] == [(1, 2e6)]
    assert (known.proof_visit, known.values) == (first, VALUES)
    later = replace(at, clock=SetClock(T0 + timedelta(days=5)))
    second = visit(later, "firmware-and-reset")
    found = RecordReading(second, MAP, reading(VALUES, at), "ada")
    pass_gates(later, second, "firmware-and-reset", "read-as-found")
    record_as_found(found, desk=later)
    assert known_of("217", store=at.store, blobs=at.blobs).measured == known.measured
    left = {**VALUES, "general.name": "BA"}
    pass_gates(later, second, "firmware-and-reset", "read-as-left")
    record_as_left(RecordReading(second, MAP, reading(left, at), "ada"), desk=later)
    known = known_of("217", store=at.store, blobs=at.blobs)
    assert known.measured == () and known.values["general.name"] == "BA"


def test_a_swapped_drive_is_told_with_its_serial_number(at: Desk) -> None:
    made = visit(at)
    tick(TickStep(made, pass_gates(at, made, "drive-swap", "drive"), "ada"), desk=at)
    (swap,) = known_of("217", store=at.store, blobs=at.blobs).swaps
    assert (swap.visit, swap.serial) == (made, "S-0")
