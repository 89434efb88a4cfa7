"""What is known of the firmware on one vehicle's recorder: its version, and its hardware."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from asfound.errors import NotFound, UsageError
from asfound.jobs.choose_firmware import ChooseFirmware
from asfound.jobs.recorder_hardware import hardware_of
from asfound.model.firmware import Catalogue, Image
from asfound.model.fleet import Vehicle
from asfound.model.visit import VisitState


@dataclass(frozen=True, slots=True)
class FirmwareKnown:
    """``installed`` as ``visit`` left it at ``at`` ("", None: as the fleet file says).
    ``hardware``: the revision, "" while nobody has said it."""

    installed: str
    visit: str
    at: datetime | None
    hardware: str


def firmware_known(
    vehicle: Vehicle, visits: Sequence[VisitState], catalogue: Catalogue | None
) -> FirmwareKnown:
    """By the newest of ``visits`` (newest first) that is of this recorder, else by the fleet
    file. Raises UsageError where fleet file and catalogue name two hardware revisions."""
    fitted = vehicle.recorder
    hardware = hardware_of(fitted, catalogue)
    for state in visits:
        recorder = state.vehicle.recorder
        same = (recorder.map_id, recorder.serial) == (fitted.map_id, fitted.serial)
        if same and state.firmware_left:
            at = state.closed_at or state.opened_at
            return FirmwareKnown(state.firmware_left, state.id, at, hardware)
    return FirmwareKnown(fitted.firmware, "", None, hardware)


@dataclass(frozen=True, slots=True)
class WayAsked:
    """What somebody typed about a vehicle's recorder, each "" for what is known of it."""

    hardware: str = ""
    installed: str = ""
    to: str = ""


def vehicle_request(
    vehicle: Vehicle, fleet: str, known: FirmwareKnown, catalogue: Catalogue, asked: WayAsked
) -> ChooseFirmware:
    """What to choose by, for one vehicle. Raises UsageError where the hardware is not known, or
    is known to be another one than was typed: nothing is guessed."""
    serial = vehicle.recorder.serial
    hardware = hardware_of(vehicle.recorder, catalogue, asked.hardware)
    if not hardware:
        raise UsageError(
            f"the hardware revision of recorder {serial} is not known; read it off the label"
        )
    installed = asked.installed or known.installed
    return ChooseFirmware(catalogue, vehicle.recorder.map_id, hardware, installed, fleet, asked.to)


def allowed_image(catalogue: Catalogue, fleet: str, file: str) -> Image:
    """The image with this file name, when the fleet may have it. Raises NotFound, UsageError."""
    found = next((one for one in catalogue.images if one.file == file), None)
    if found is None:
        raise NotFound(f"the firmware catalogue has no image {file!r}; choose one from the list")
    if found.withdrawn is not None:
        gone = found.withdrawn
        raise UsageError(f"{file} was withdrawn on {gone.on}: {gone.why}; it goes on no stick")
    if not found.approved_for(fleet):
        raise UsageError(f"{file} is not approved for {fleet}; it goes on no stick")
    return found
