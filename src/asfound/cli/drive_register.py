"""`asfound drive register|list|show|findings|label`: the register of drives."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from asfound.calc.drive_names import same_serial
from asfound.calc.smart_json import MOST_BYTES, read_smart
from asfound.cli import output, wiring
from asfound.cli.drive_show import (
    FORMAT,
    drive_data,
    found_data,
    show_drive,
    show_findings,
    show_list,
)
from asfound.cli.home import ByOption, Home, HomeOption, home_at
from asfound.cli.report import check_target, write_whole
from asfound.cli.save import check_output, save
from asfound.errors import ExitCode, InputError, NotFound, UsageError
from asfound.jobs.drive_acts import JudgeDrive, RegisterDrive, judge_drive, register_drive
from asfound.jobs.drive_findings import drive_findings
from asfound.jobs.drive_label import LabelDrive, drive_label_pdf, drive_label_svg
from asfound.jobs.drive_locks import locks
from asfound.jobs.drive_register import list_drives, one_drive, present
from asfound.model.drive_register import DRIVE_KINDS, DriveFound, DriveState
from asfound.model.smart import SmartReport
from asfound.ports.backends.disk import storage_error
from asfound.units import BYTES, parse_quantity

DriveArgument = Annotated[
    str, typer.Argument(metavar="DRIVE", help="Serial number, id, or what its label's code says.")
]
JsonOption = Annotated[bool, typer.Option("--json", help=f"Print {FORMAT}.")]
ReportOption = Annotated[
    Path | None, typer.Option(metavar="SMART.json", help="What `smartctl --json -x` wrote.")
]


def register_command(  # noqa: PLR0913 (an option each)
    serial: Annotated[str, typer.Argument(metavar="SERIAL", help="As on the drive's label.")],
    by: ByOption,
    kind: Annotated[str, typer.Option(help=f"{', '.join(DRIVE_KINDS)}; else by --report.")] = "",
    size: Annotated[str, typer.Option(metavar="480GB", help="As labelled; else --report.")] = "",
    report: ReportOption = None,
    vehicle: Annotated[str, typer.Option(help="It is fitted there; else you have it.")] = "",
    new: Annotated[bool, typer.Option("--new", help="It has never recorded.")] = False,
    home: HomeOption = None,
) -> None:
    """Take a drive into the register, or mend what stands there of its kind and size.

    Exit code 1: something does not go together.
    """
    place = home_at(home)
    data = read_report(report) if report is not None else None
    told = _report(report, data, serial)
    fitted = place.fleet().vehicle(vehicle) if vehicle else None
    by_report = {True: "hdd", False: "ssd", None: ""}[told.turns] if told else ""
    capacity = _bytes(size) if size else (told.capacity or 0) if told else 0
    if not (kind or by_report) or not capacity:
        raise UsageError("say what drive it is: --kind KIND --size 480GB, or --report SMART.json")
    desk = place.drive_desk()
    model = told.model if told else ""
    request = RegisterDrive(serial, kind or by_report, capacity, by, model, fitted, new)
    state = register_drive(request, desk=desk)
    if data is not None:
        state = judge_drive(JudgeDrive(serial, data, by), desk=desk)
    say_done(place, state)


def list_command(
    vehicle: Annotated[str, typer.Option(help="Only those that were in this vehicle.")] = "",
    home: HomeOption = None,
    json: JsonOption = False,
) -> None:
    """Every drive that the register or a visit names, and where it is."""
    place = home_at(home)
    drives = list_drives(place.drives(), place.store())
    if vehicle:
        number = place.fleet().vehicle(vehicle).number
        drives = tuple(one for one in drives if any(stay.vehicle == number for stay in one.stays))
    if json:
        output.json_out({"format": FORMAT, "drives": [_data(place, one) for one in drives]})
        return
    show_list(drives, place.zone())


def show_command(drive: DriveArgument, home: HomeOption = None, json: JsonOption = False) -> None:
    """One drive: where it is, what it may carry, its story. Exit code 1: there are findings."""
    place = home_at(home)
    state = one_drive(drive, place.drives(), place.store())
    found = findings_of(place, state)
    if json:
        output.json_out(
            {
                "format": FORMAT,
                "drives": [_data(place, state)],
                "findings": [found_data(one) for one in found],
            }
        )
    else:
        locked = locks(state, store=place.store(), requests=place.requests())
        show_drive(state, locked, place.zone())
        show_findings(found, place.zone())
    if found:
        raise typer.Exit(ExitCode.FINDINGS)


def findings_command(home: HomeOption = None, json: JsonOption = False) -> None:
    """What does not go together: unregistered, in two places, custody gaps, not proven erased.

    Exit code 0: nothing; 1: something.
    """
    place = home_at(home)
    found = _findings(place)
    if json:
        output.json_out({"format": FORMAT, "findings": [found_data(one) for one in found]})
    elif found:
        show_findings(found, place.zone())
    else:
        output.say("nothing found: every drive is where the register says, as far as it was told")
    if found:
        raise typer.Exit(ExitCode.FINDINGS)


def label_command(
    drive: DriveArgument,
    to: Annotated[
        Path, typer.Option("-o", "--output", metavar="FILE", help="FILE.svg or FILE.pdf.")
    ],
    home: HomeOption = None,
) -> None:
    """A label of 62 x 29 mm with a code that says id, serial number and fleet."""
    place = home_at(home)
    state = one_drive(drive, place.drives(), place.store())
    request = LabelDrive(state, place.fleet().name)
    if to.suffix.casefold() == ".svg":
        check_output(to, b"<svg", "an SVG picture")
        save(to, drive_label_svg(request))
    elif to.suffix.casefold() == ".pdf":
        check_target(to)
        at = present(wiring.clock(), state)
        try:
            write_whole(to, drive_label_pdf(request, at, pdf=wiring.pdf()))
        except OSError as error:
            raise storage_error(error, to) from None
    else:
        raise UsageError(f"-o {to}: name a file that ends in .svg or .pdf")
    output.say(f"{to}: label of {state.spelled} [{state.id}]")


def read_report(path: Path) -> bytes:
    """The bytes of a SMART report. Raises NotFound, StorageError."""
    try:
        with path.open("rb") as file:
            return file.read(MOST_BYTES + 1)
    except (FileNotFoundError, IsADirectoryError):
        raise NotFound(
            f"{path}: no such file; write one with `smartctl --json -x DEVICE`"
        ) from None
    except OSError as error:
        raise storage_error(error, path) from None


def say_done(place: Home, state: DriveState) -> None:
    """Where the drive is now, and what does not go together; then exit code 1."""
    zone = place.zone()
    show_list([state], zone)
    found = findings_of(place, state)
    show_findings(found, zone)
    if found:
        raise typer.Exit(ExitCode.FINDINGS)


def findings_of(place: Home, state: DriveState) -> tuple[DriveFound, ...]:
    """The findings of one drive, and of the vehicle it is in."""
    return tuple(
        one
        for one in _findings(place)
        if one.serial == state.serial or (one.kind == "too-many" and one.vehicle == state.vehicle)
    )


def _findings(place: Home) -> tuple[DriveFound, ...]:
    return drive_findings(
        list_drives(place.drives(), place.store()), place.fleet(), wiring.clock().now(),
        store=place.store(), requests=place.requests(),
    )  # fmt: skip


def _data(place: Home, state: DriveState) -> dict[str, object]:
    return drive_data(state, locks(state, store=place.store(), requests=place.requests()))


def _report(path: Path | None, data: bytes | None, serial: str) -> SmartReport | None:
    if data is None:
        return None
    try:
        made = read_smart(data)
    except InputError as error:
        raise InputError(f"{path}: {error}") from None
    if same_serial(made.serial) != same_serial(serial):
        raise UsageError(f"{path}: is the report of {made.serial or 'no number'}, not of {serial}")
    return made


def _bytes(text: str) -> int:
    try:
        return round(float(text) if text.isdecimal() else parse_quantity(text, BYTES))
    except ValueError as error:
        raise UsageError(f"--size: {error}") from None
