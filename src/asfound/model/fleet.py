"""Fleet, vehicle, recorder, camera, drive: what is fitted where, and the fleet's standard."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from asfound.errors import NotFound


@dataclass(frozen=True, slots=True)
class Drive:
    """A drive: serial number, capacity in bytes, kind ("ssd", "hdd", "card")."""

    serial: str
    capacity_bytes: int
    kind: str = "ssd"


@dataclass(frozen=True, slots=True)
class Camera:
    """A camera on a channel, numbered from 1; ``name`` is what it looks at."""

    channel: int
    name: str


@dataclass(frozen=True, slots=True)
class Recorder:
    """A fitted recorder. ``firmware`` is the installed version as last known; ``hardware`` its
    revision by the label, "" while nobody knows it."""

    map_id: str
    serial: str
    firmware: str
    place: str
    supply_volts: int
    hardware: str = ""


@dataclass(frozen=True, slots=True)
class Vehicle:
    """A vehicle; ``overrides`` are its own settings, field id -> canonical value. ``hours_a_day``
    [h] with the ignition on (None: as the fleet's)."""

    number: str
    plate: str
    kind: str
    depot: str
    vehicle_class: str
    recorder: Recorder
    cameras: tuple[Camera, ...]
    drive: Drive | None = None
    overrides: Mapping[str, str] = field(default_factory=dict)
    hours_a_day: float | None = None


@dataclass(frozen=True, slots=True)
class Standard:
    """Settings that the fleet promises for one recorder model: baseline, then per class."""

    map_id: str
    baseline: Mapping[str, str]
    classes: Mapping[str, Mapping[str, str]]


@dataclass(frozen=True, slots=True)
class Fleet:
    """A fleet with its vehicles and standards; ``time_zone`` is an IANA name. Footage was promised
    for ``minimum_days`` and is lawful for ``maximum_days``; vehicles drive ``hours_a_day`` [h]."""

    name: str
    time_zone: str
    vehicles: tuple[Vehicle, ...]
    standards: tuple[Standard, ...]
    minimum_days: int | None = None
    maximum_days: int | None = None
    hours_a_day: float | None = None

    def vehicle(self, number: str) -> Vehicle:
        """The vehicle with this fleet number or plate. Raises NotFound."""
        wanted = number.replace(" ", "").casefold()
        for vehicle in self.vehicles:
            names = (vehicle.number, vehicle.plate)
            if wanted in (name.replace(" ", "").casefold() for name in names):
                return vehicle
        raise NotFound(f"no vehicle {number!r} in fleet {self.name}; `asfound fleet` lists them")

    def standard(self, map_id: str) -> Standard:
        """The settings standard for a recorder model; an empty one when none is set."""
        for standard in self.standards:
            if standard.map_id == map_id:
                return standard
        return Standard(map_id, {}, {})
