"""A desk for the register of drives, and homes with keys of their own (tests only)."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from tests.visit_kit import MAP, T0, VEHICLE, SetClock, desk, procedure

from asfound.jobs.drive_acts import MoveDrive, RegisterDrive, register_drive
from asfound.jobs.drive_register import DriveDesk
from asfound.jobs.visit_act import OverrideGate, TickStep, override, tick
from asfound.jobs.visit_journal import Desk
from asfound.jobs.visit_open import OpenVisit, open_visit
from asfound.model.drive_register import DriveState
from asfound.model.fleet import Drive, Fleet, Vehicle
from asfound.ports.backends.signatures_ed25519 import Ed25519
from asfound.ports.backends.store_sql import SqlStore
from asfound.ports.signatures import KeyPair

BUS = replace(VEHICLE, drive=Drive("S-1", 10**12))
LORRY = replace(VEHICLE, number="305", plate="QB 05 ABC", drive=Drive("S-2", 10**12))
FLEET = Fleet("Brindlemere & Sons", "Europe/London", (BUS, LORRY), ())


@dataclass(frozen=True)
class FixedKeys:
    """The key of one home."""

    number: int

    def own(self) -> KeyPair:
        return Ed25519().pair(bytes([self.number]) * 32)


def drive_desk(folder: Path, home: int = 1, at: datetime = T0) -> DriveDesk:
    """A desk of the home ``home`` on a fresh store in memory."""
    made = desk(folder)
    assert isinstance(made.store, SqlStore)
    store = made.store
    return DriveDesk(store, store, store, made.blobs, SetClock(at), FixedKeys(home))


def other_home(at: DriveDesk, home: int = 2) -> DriveDesk:
    """The same store, written by another home."""
    return replace(at, keys=FixedKeys(home))


def enter(at: DriveDesk, serial: str = "S-1", vehicle: Vehicle | None = BUS) -> DriveState:
    """A registered drive, in a vehicle or with ada."""
    return register_drive(RegisterDrive(serial, "ssd", 10**12, "ada", vehicle=vehicle), desk=at)


def move(drive: str, vehicle: Vehicle = BUS, by: str = "ada") -> MoveDrive:
    return MoveDrive(drive, vehicle, by, "a fault")


def drive_visit(at: DriveDesk, out: str = "", into: str = "", vehicle: Vehicle = BUS) -> str:
    """A visit whose drive step was ticked off by ada; returns its id."""
    visits = Desk(at.store, at.blobs, at.clock)
    request = OpenVisit(vehicle, "F", "Europe/London", procedure("drive-swap"), MAP, "ada")
    made = open_visit(request, store=at.store, blobs=at.blobs, clock=at.clock).id
    step = procedure("drive-swap").step("drive")
    for gate in step.gates:
        if gate != "no-hold":
            override(OverrideGate(made, step.id, gate, "ada", "a test"), desk=visits)
    tick(TickStep(made, "drive", "ada", drive_out=out, drive_in=into), desk=visits)
    return made
