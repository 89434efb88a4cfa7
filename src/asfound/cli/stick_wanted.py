"""Which file `asfound stick prepare` puts on the stick: the catalogue's choice, or one by hand."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from asfound.cli import wiring
from asfound.cli.firmware_file import catalogue_at
from asfound.cli.home import CATALOGUE, home_at
from asfound.errors import IntegrityError, NotFound, UsageError
from asfound.jobs.check_firmware import CheckFirmware, check_image
from asfound.jobs.choose_firmware import ChooseFirmware
from asfound.jobs.recorder_hardware import hardware_of
from asfound.jobs.stick_copy import hash_image
from asfound.jobs.stick_image import image_for, known_image
from asfound.model.firmware import FileVerdict, FirmwareChosen
from asfound.model.stick import StickFault, StickFinding

Places = tuple[Path | None, Path | None]
"""--home and --catalogue."""


@dataclass(frozen=True)
class Asked:
    """What was typed: IMAGE, or --vehicle and what goes with it."""

    to: Path
    image: Path | None
    vehicle: str
    version: str
    installed: str
    hardware: str
    images: Path | None
    sha256: str


@dataclass(frozen=True)
class Wanted:
    """The file, what it must hash to, the recorder's map, and what there is to say of it;
    ``words`` go behind the recorder's name on the slip."""

    path: Path
    sha256: str
    map_name: str
    words: str = ""
    lines: tuple[str, ...] = ()
    findings: tuple[StickFinding, ...] = ()


def wanted_image(asked: Asked, map_name: str, places: Places) -> Wanted:
    """Raises UsageError, NotFound, IntegrityError (the file is not the catalogue's), InputError."""
    if (asked.image is None) == (not asked.vehicle):
        raise UsageError("name the image, or --vehicle for the catalogue's choice, one of them")
    if asked.image is None:
        return _chosen(asked, map_name, places)
    if asked.version or asked.installed or asked.hardware or asked.images:
        raise UsageError("--to-version, --installed, --hardware and --images go with --vehicle")
    return _by_hand(asked.image, asked, map_name, places)


def _chosen(asked: Asked, map_name: str, places: Places) -> Wanted:
    place, catalogue = home_at(places[0]), catalogue_at(*places)
    fleet = place.fleet()
    vehicle = fleet.vehicle(asked.vehicle)
    fitted = vehicle.recorder
    if map_name and map_name != fitted.map_id:
        raise UsageError(f"vehicle {vehicle.number} has a {fitted.map_id}, not a {map_name}")
    hardware = hardware_of(fitted, catalogue, asked.hardware)
    installed = asked.installed or fitted.firmware
    chosen = image_for(
        ChooseFirmware(catalogue, fitted.map_id, hardware, installed, fleet.name, asked.version)
    )
    first = chosen.steps[0]
    folder = asked.images or place.path / "firmware"
    files = wiring.firmware_files(folder)
    checked = check_image(
        CheckFirmware(catalogue, fitted.map_id, wiring.clock().now()),
        first.image,
        files=files,
        makers=wiring.makers(),
    )
    if checked.verdict is FileVerdict.MISSING:
        raise NotFound(f"{folder / first.image.file}: is not there; put it there, or name --images")
    if checked.verdict is not FileVerdict.RIGHT:
        raise IntegrityError(
            f"{folder / first.image.file}: {checked.verdict}, {checked.note}; fetch it again, "
            "nothing was written"
        )
    count = len(chosen.steps)
    words = f", vehicle {vehicle.number}, {first.over} to {first.image.version}, step 1 of {count}"
    findings = tuple(StickFinding(StickFault.LOOK_AT, "", line) for line in chosen.findings)
    lines = _lines(vehicle.number, chosen, checked.note)
    return Wanted(
        folder / first.image.file, first.image.sha256, fitted.map_id, words, lines, findings
    )


def _lines(number: str, chosen: FirmwareChosen, note: str) -> tuple[str, ...]:
    way = [f"{step.over} → {step.image.version}" for step in chosen.steps]
    first = chosen.steps[0]
    lines = [
        f"vehicle {number}: {first.over} → {first.image.version}, step 1 of {len(way)}: "
        f"{first.image.file}; {note}"
    ]
    if way[1:]:
        lines.append(
            f"then {', '.join(way[1:])}: a stick of its own each, "
            f"--installed {first.image.version} for the next"
        )
    return (*lines, *(f"warning: {line}" for line in chosen.warnings))


def _by_hand(path: Path, asked: Asked, map_name: str, places: Places) -> Wanted:
    """A file given by hand: what the catalogue knows of it, where there is one."""
    if places[1] is None and not (home_at(places[0]).path / CATALOGUE).exists():
        return Wanted(path, asked.sha256, map_name)
    catalogue = catalogue_at(*places)
    with wiring.progress(f"Looking at {path.name}") as progress:
        found, _ = hash_image(wiring.image(path, asked.to), progress)
    known = known_image(catalogue, found, map_name)
    if known:
        return Wanted(path, asked.sha256, map_name, lines=(f"the catalogue knows it: {known}",))
    note = "the firmware catalogue does not know the image: nobody approved it"
    return Wanted(
        path, asked.sha256, map_name, findings=(StickFinding(StickFault.UNKNOWN_IMAGE, "", note),)
    )
