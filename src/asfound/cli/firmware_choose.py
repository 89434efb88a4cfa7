"""`asfound firmware choose`: the right image, the way there, and every reason."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from asfound.cli import output
from asfound.cli.firmware_file import CatalogueOption, catalogue_at
from asfound.cli.home import HomeOption, home_at
from asfound.errors import ExitCode, UsageError
from asfound.jobs.choose_firmware import ChooseFirmware, choose_firmware
from asfound.jobs.recorder_hardware import hardware_of
from asfound.model.firmware import Answer, Catalogue, FirmwareChosen

FORMAT = "asfound-firmware-choose/1"


def choose_command(  # noqa: PLR0913 (an option each)
    model: Annotated[str, typer.Option(metavar="MAP", help="Recorder model: menu map's id.")] = "",
    hardware: Annotated[str, typer.Option(metavar="R", help="Hardware revision.")] = "",
    installed: Annotated[str, typer.Option(metavar="V", help="Version that is on it.")] = "",
    fleet: Annotated[
        str, typer.Option(metavar="NAME", help="Whose approval counts; else that for every fleet.")
    ] = "",
    vehicle: Annotated[
        str, typer.Option(help="A vehicle of the home folder's fleet: model, version, fleet.")
    ] = "",
    to: Annotated[
        str, typer.Option(metavar="V", help="This version, also an older one; else the newest.")
    ] = "",
    home: HomeOption = None,
    catalogue: CatalogueOption = None,
    json: Annotated[bool, typer.Option("--json", help=f"Print {FORMAT}.")] = False,
) -> None:
    """The right image for a recorder and the shortest way over stepping stones, with reasons.

    Exit code 0: an image and a way, or nothing to do; 1: nothing fits, or something to look at.
    """
    made = catalogue_at(home, catalogue)
    if vehicle:
        request = _of_vehicle(made, vehicle, home, ChooseFirmware(
            made, model, hardware, installed, fleet, to
        ))  # fmt: skip
    elif model and hardware and installed:
        request = ChooseFirmware(made, model, hardware, installed, fleet, to)
    else:
        raise UsageError("name the recorder: --model, --hardware and --installed, or --vehicle")
    chosen = choose_firmware(request)
    if json:
        output.json_out(chosen_data(request, chosen))
    else:
        show(request, chosen)
    if chosen.findings:
        raise typer.Exit(ExitCode.FINDINGS)


def _of_vehicle(
    made: Catalogue, number: str, home: Path | None, typed: ChooseFirmware
) -> ChooseFirmware:
    """What the fleet file says of the vehicle; what was typed about version and hardware counts."""
    fleet = home_at(home).fleet()
    fitted = fleet.vehicle(number).recorder
    if typed.map_id and typed.map_id != fitted.map_id:
        raise UsageError(f"vehicle {number} has a {fitted.map_id}, not a {typed.map_id}")
    if typed.fleet and typed.fleet != fleet.name:
        raise UsageError(f"vehicle {number} is of fleet {fleet.name}, not of {typed.fleet}")
    hardware = hardware_of(fitted, made, typed.hardware)
    return ChooseFirmware(
        made, fitted.map_id, hardware, typed.installed or fitted.firmware, fleet.name, typed.to
    )


def chosen_data(request: ChooseFirmware, chosen: FirmwareChosen) -> dict[str, object]:
    """The documented form (docs/firmware.md)."""
    return {
        "format": FORMAT,
        "model": request.map_id, "hardware": request.hardware, "installed": request.installed,
        "fleet": request.fleet, "answer": chosen.answer,
        "steps": [
            {
                "version": step.image.version, "file": step.image.file, "size": step.image.size,
                "sha256": step.image.sha256, "over": step.over, "reasons": list(step.reasons),
            }
            for step in chosen.steps
        ],
        "rejected": [
            {
                "version": one.image.version, "file": one.image.file,
                "hardware": list(one.image.hardware), "why": one.why, "note": one.note,
            }
            for one in chosen.rejected
        ],
        "findings": list(chosen.findings),
        "warnings": list(chosen.warnings),
    }  # fmt: skip


def show(request: ChooseFirmware, chosen: FirmwareChosen) -> None:
    """The answer in a line, the steps, what to look at, then what was rejected."""
    what = f"{request.map_id}, hardware {request.hardware}, {request.installed} installed"
    if chosen.answer is Answer.GO:
        last = chosen.steps[-1].image
        steps = output.count(len(chosen.steps), "step")
        output.say(f"{what}: put on {last.version} ({last.file}) in {steps}", style="bold")
        for number, step in enumerate(chosen.steps, 1):
            output.say(f"  {number}. {step.over} → {step.image.version}: {step.image.file}")
            output.say(f"     SHA-256 {step.image.sha256}")
            for reason in step.reasons:
                output.say(f"     {reason}")
    elif chosen.answer is Answer.STAY:
        output.say(f"{what}: nothing to do, it is the right one", style="bold")
    else:
        output.say(f"{what}: nothing fits, put nothing on", style="bold")
    for line in chosen.findings:
        output.say(f"look at: {line}")
    for line in chosen.warnings:
        output.say(f"warning: {line}")
    if chosen.rejected:
        rows = [(one.image.version, one.image.file, one.note) for one in chosen.rejected]
        output.table(("Rejected", "File", "Why"), rows)
