"""`asfound drive fitted|pulled|hand|put|found|judged|wiped|retire`: what happens to a drive."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from asfound.cli import wiring
from asfound.cli.drive_register import DriveArgument, read_report, say_done
from asfound.cli.hold import parse_time
from asfound.cli.home import ByOption, Home, HomeOption, home_at
from asfound.cli.visit_sign import read_signature
from asfound.errors import InputError
from asfound.jobs.drive_acts import (
    HandDrive,
    JudgeDrive,
    MoveDrive,
    PutDrive,
    fit_drive,
    found_drive,
    hand_drive,
    judge_drive,
    pull_drive,
    put_drive,
)
from asfound.jobs.drive_erasure import RetireDrive, WipeDrive, retire_drive, wipe_drive
from asfound.jobs.drive_fold import PLACES
from asfound.model.drive_register import Erasure

VehicleOption = Annotated[str, typer.Option(help="Fleet number or plate.")]
ReasonOption = Annotated[str, typer.Option("--reason", metavar="WHY", help="Why.")]
WhereOption = Annotated[str, typer.Option(metavar="TEXT", help="Where, in words.")]
WhenOption = Annotated[
    str, typer.Option(metavar="TIME", help="RFC 3339, or local time; else it was now.")
]


def fitted_command(
    drive: DriveArgument,
    vehicle: VehicleOption,
    reason: ReasonOption,
    by: ByOption,
    when: WhenOption = "",
    home: HomeOption = None,
) -> None:
    """It went into a vehicle. Exit code 1: something does not go together."""
    place = home_at(home)
    asked = MoveDrive(drive, place.fleet().vehicle(vehicle), by, reason, _when(place, when))
    say_done(place, fit_drive(asked, desk=place.drive_desk()))


def pulled_command(
    drive: DriveArgument,
    vehicle: VehicleOption,
    reason: ReasonOption,
    by: ByOption,
    when: WhenOption = "",
    home: HomeOption = None,
) -> None:
    """It came out of a vehicle, and you have it. Exit code 1: something does not go together."""
    place = home_at(home)
    asked = MoveDrive(drive, place.fleet().vehicle(vehicle), by, reason, _when(place, when))
    say_done(place, pull_drive(asked, desk=place.drive_desk()))


def hand_command(  # noqa: PLR0913 (an option each)
    drive: DriveArgument,
    to: Annotated[str, typer.Option(metavar="NAME", help="Who receives it, and signs.")],
    reason: ReasonOption,
    by: ByOption,
    signed: Annotated[
        Path | None,
        typer.Option(metavar="FILE.png", help="The receiver's signature; else the name signs."),
    ] = None,
    where: WhereOption = "",
    when: WhenOption = "",
    home: HomeOption = None,
) -> None:
    """Hand it over: --by gives, --to receives and signs. Exit code 1: whoever gives it did not
    have it, or something else does not go together."""
    place = home_at(home)
    picture = read_signature(signed) if signed is not None else None
    asked = HandDrive(drive, to, by, reason, where, picture, _when(place, when))
    say_done(place, hand_drive(asked, desk=place.drive_desk(), pictures=wiring.pictures()))


def put_command(
    drive: DriveArgument,
    into: Annotated[str, typer.Option("--in", metavar="|".join(PLACES), help="What it is in.")],
    reason: ReasonOption,
    by: ByOption,
    where: WhereOption = "",
    when: WhenOption = "",
    home: HomeOption = None,
) -> None:
    """Put it into a bag or a store or on a desk, or take it out of a store into your bag."""
    place = home_at(home)
    asked = PutDrive(drive, into, by, reason, where, _when(place, when))
    say_done(place, put_drive(asked, desk=place.drive_desk()))


def found_command(
    drive: DriveArgument,
    where: WhereOption,
    reason: ReasonOption,
    by: ByOption,
    when: WhenOption = "",
    home: HomeOption = None,
) -> None:
    """You looked, found it there and have it now: settles what did not go together before."""
    place = home_at(home)
    asked = PutDrive(drive, "", by, reason, where, _when(place, when))
    say_done(place, found_drive(asked, desk=place.drive_desk()))


def judged_command(
    drive: DriveArgument,
    report: Annotated[
        Path, typer.Argument(metavar="SMART.json", help="What `smartctl --json -x` wrote.")
    ],
    by: ByOption,
    home: HomeOption = None,
) -> None:
    """Keep what `asfound drive health` says of it with the drive."""
    place = home_at(home)
    asked = JudgeDrive(drive, read_report(report), by)
    try:
        state = judge_drive(asked, desk=place.drive_desk())
    except InputError as error:
        raise InputError(f"{report}: {error}") from None
    say_done(place, state)


def wiped_command(  # noqa: PLR0913 (an option each)
    drive: DriveArgument,
    category: Annotated[
        str, typer.Option(metavar="|".join(Erasure), help="By NIST SP 800-88 (docs/drives.md).")
    ],
    method: Annotated[str, typer.Option(metavar="TEXT", help="How it was erased.")],
    tool: Annotated[str, typer.Option(metavar="TEXT", help="With which tool, and its version.")],
    reason: ReasonOption,
    by: ByOption,
    verified_by: Annotated[
        str, typer.Option(metavar="NAME", help="Who checked that it is erased.")
    ] = "",
    when: WhenOption = "",
    home: HomeOption = None,
) -> None:
    """Write down that somebody erased it; nothing is erased here. Refused while it is fitted, or a
    hold or an open request is about footage that should be on it."""
    place = home_at(home)
    asked = WipeDrive(drive, category, method, tool, by, reason, verified_by, _when(place, when))
    say_done(place, wipe_drive(asked, desk=place.drive_desk()))


def retire_command(
    drive: DriveArgument,
    how: Annotated[str, typer.Option(metavar="TEXT", help="Scrapped, sold, returned …")],
    reason: ReasonOption,
    by: ByOption,
    when: WhenOption = "",
    home: HomeOption = None,
) -> None:
    """It leaves for good. Refused as `wiped` is. Exit code 1: no proof of erasure counts."""
    place = home_at(home)
    asked = RetireDrive(drive, how, by, reason, _when(place, when))
    say_done(place, retire_drive(asked, desk=place.drive_desk()))


def _when(place: Home, text: str) -> datetime | None:
    return parse_time(text, place.zone()) if text else None
