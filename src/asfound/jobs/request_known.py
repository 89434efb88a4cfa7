"""What a vehicle's visits tell of its footage: rates, settings, hours on disk, drives changed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from asfound.jobs.size_storage import Measured
from asfound.jobs.visit_journal import load_visit
from asfound.model.finding import Proof
from asfound.model.visit import CoverageTaken, VisitState
from asfound.model.visit_line import LineQuery
from asfound.ports.blobs import Blobs
from asfound.ports.store import Store

LAST = 12
"""Visits that are looked at, newest first: more than a drive's footage outlives."""


@dataclass(frozen=True, slots=True)
class Swap:
    """In ``visit`` the drive ``serial`` ("" = not known) was swapped or formatted at ``at``."""

    visit: str
    serial: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Known:
    """``values`` of the newest reading by ``map_visit``'s menu map, ``measured`` rates of the
    newest proof (none when settings were keyed in after it), all counts of hours on disk and all
    swaps of drives, oldest first."""

    values: Mapping[str, str] = field(default_factory=dict)
    map_visit: VisitState | None = None
    measured: tuple[Measured, ...] = ()
    proof_visit: str = ""
    coverage: tuple[CoverageTaken, ...] = ()
    swaps: tuple[Swap, ...] = ()


def known_of(vehicle: str, *, store: Store, blobs: Blobs) -> Known:
    """What the last visits of the vehicle (its number) tell. Raises IntegrityError,
    StorageError."""
    lines = store.lines(LineQuery(vehicles=(vehicle,), limit=LAST))
    values: Mapping[str, str] = {}
    read: VisitState | None = None
    measured: tuple[Measured, ...] = ()
    proved, stale = "", False
    coverage: list[CoverageTaken] = []
    swaps: list[Swap] = []
    for line in lines:
        state = load_visit(line.id, store=store, blobs=blobs)
        if read is None and (found := _values(state)):
            read, values = state, found
        if not measured and not stale and state.proof is not None:
            measured = _rates(state.proof)
            proved = state.id if measured else ""
        # Settings keyed in since, and not proved: older rates are no longer its rates.
        stale = stale or bool(state.rounds)
        coverage += state.coverage
        swaps += _swaps(state)
    return Known(
        values,
        read,
        measured,
        proved,
        tuple(sorted(coverage, key=lambda one: one.at)),
        tuple(sorted(swaps, key=lambda one: one.at)),
    )


def _values(state: VisitState) -> dict[str, str]:
    """As left where that was read, else as found."""
    if not state.rounds:
        return state.as_found_values()
    last = state.rounds[-1]
    return last.reading.sure_values() | {item.id: item.value for item in last.settled}


def _rates(proof: Proof) -> tuple[Measured, ...]:
    return tuple(
        Measured(one.channel, one.duration_s, one.bitrate_bps)
        for one in proof.recordings
        if one.channel is not None and one.duration_s and one.bitrate_bps
    )


def _swaps(state: VisitState) -> list[Swap]:
    steps = {step.id for step in state.procedure.steps if step.kind == "drive"}
    serial = state.vehicle.drive.serial if state.vehicle.drive else ""
    return [
        Swap(state.id, one.drive_out or serial, one.at) for one in state.done if one.step in steps
    ]
