"""The fleet file (``asfound-fleet/1``, docs/fleet.md) to the model, with faults by line."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Literal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from asfound.calc.plain_text import code, unseen
from asfound.errors import InputError
from asfound.model.fleet import Camera, Drive, Fleet, Recorder, Standard, Vehicle
from asfound.ports.backends.toml_checked import Faults, load_checked

MAX_BYTES = 32 * 1024 * 1024
"""Larger files are refused: a vehicle with four cameras takes 0.6 kB."""


def _seen(text: str) -> str:
    if bad := unseen(text):
        raise ValueError(f"holds the unseen character {code(bad)}; write it without")
    if not text.strip():
        raise ValueError("is empty; write a name")
    return text


Name = Annotated[str, Field(min_length=1, max_length=120), AfterValidator(_seen)]


Hours = Annotated[float, Field(gt=0, le=24)]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class CameraTable(_Strict):
    """``{ channel = 1, name = "Front" }``."""

    channel: int = Field(ge=1, le=64)
    name: Name


class DriveTable(_Strict):
    """``{ serial = "...", capacity_bytes = 1000204886016, kind = "ssd" }``."""

    serial: Name
    capacity_bytes: int = Field(gt=0)
    kind: Literal["ssd", "hdd", "card"] = "ssd"


class RecorderTable(_Strict):
    """The recorder as it is fitted."""

    map: Name
    serial: Name
    firmware: Name
    place: Name
    supply_volts: Literal[12, 24]
    hardware: Name | None = None


class VehicleTable(_Strict):
    """One ``[[vehicle]]``."""

    number: Name
    plate: Name
    kind: Literal["lorry", "bus"]
    depot: Name
    vehicle_class: Name = Field(alias="class")
    recorder: RecorderTable
    cameras: list[CameraTable] = Field(min_length=1)
    drive: DriveTable | None = None
    overrides: dict[str, str] = Field(default_factory=dict)
    hours_a_day: Hours | None = None


class StandardTable(_Strict):
    """One ``[[standard]]``: what the fleet promises for one recorder model."""

    map: Name
    baseline: dict[str, str] = Field(default_factory=dict)
    classes: dict[str, dict[str, str]] = Field(default_factory=dict)


class FleetFile(_Strict):
    """The whole file."""

    format: Literal["asfound-fleet/1"]
    name: Name
    time_zone: Name
    minimum_days: int | None = Field(default=None, ge=1, le=3660)
    maximum_days: int | None = Field(default=None, ge=1, le=3660)
    hours_a_day: Hours | None = None
    vehicle: list[VehicleTable] = Field(min_length=1)
    standard: list[StandardTable] = Field(default_factory=list)


def load_fleet(path: Path) -> Fleet:
    """The fleet in ``path``. Raises InputError (file, line, field), NotFound, StorageError."""
    loaded = load_checked(path, FleetFile, InputError, MAX_BYTES)
    file, faults = loaded.value, loaded.faults
    _check_zone(file.time_zone, faults)
    _check_twice(file, faults)
    faults.raise_if_any()
    return Fleet(
        file.name,
        file.time_zone,
        tuple(_vehicle(table) for table in file.vehicle),
        tuple(Standard(table.map, table.baseline, table.classes) for table in file.standard),
        file.minimum_days,
        file.maximum_days,
        file.hours_a_day,
    )


def _vehicle(table: VehicleTable) -> Vehicle:
    fitted, drive = table.recorder, table.drive
    return Vehicle(
        number=table.number,
        plate=table.plate,
        kind=table.kind,
        depot=table.depot,
        vehicle_class=table.vehicle_class,
        recorder=Recorder(
            fitted.map,
            fitted.serial,
            fitted.firmware,
            fitted.place,
            fitted.supply_volts,
            fitted.hardware or "",
        ),
        cameras=tuple(Camera(camera.channel, camera.name) for camera in table.cameras),
        drive=Drive(drive.serial, drive.capacity_bytes, drive.kind) if drive else None,
        overrides=table.overrides,
        hours_a_day=table.hours_a_day,
    )


def _check_zone(name: str, faults: Faults) -> None:
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        # ZoneInfo reads a file of that name: a folder ("Europe") or a path raises otherwise.
        faults.add(
            ("time_zone",), f"{name!r} is not a time zone; use an IANA name like 'Europe/London'"
        )


def _check_twice(file: FleetFile, faults: Faults) -> None:
    """Numbers and plates name one vehicle each; a channel has one camera; a map one standard."""
    said: dict[str, int] = {}
    for index, table in enumerate(file.vehicle):
        for key, name in (("number", table.number), ("plate", table.plate)):
            folded = name.replace(" ", "").casefold()
            if said.setdefault(folded, index) != index:
                first = said[folded] + 1
                faults.add(
                    ("vehicle", index, key),
                    f"{name!r} already names vehicle {first}; every number and plate only once",
                )
        channels = [camera.channel for camera in table.cameras]
        for at in _repeats(channels):
            faults.add(
                ("vehicle", index, "cameras", at, "channel"),
                f"channel {channels[at]} already has a camera; one camera a channel",
            )
    maps = [table.map for table in file.standard]
    for at in _repeats(maps):
        faults.add(("standard", at, "map"), f"{maps[at]!r} already has a standard; merge the two")


def _repeats(values: Sequence[object]) -> list[int]:
    """Positions of values that stood before."""
    return [at for at, value in enumerate(values) if value in values[:at]]
