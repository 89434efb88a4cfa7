"""`asfound coverage`: which hours are on disk, held against those that should be."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated
from zoneinfo import ZoneInfo

import typer

from asfound.calc.safe_csv import csv_text
from asfound.cli import output, wiring
from asfound.cli.coverage_show import coverage_data, coverage_rows, show
from asfound.cli.save import check_output, save
from asfound.cli.times import parse_period, parse_time, parse_zone
from asfound.errors import ExitCode, UsageError
from asfound.jobs.coverage import ALLOW_S, Cover, cover
from asfound.jobs.find_pieces import FindPieces, find_pieces, proved_pieces
from asfound.model.coverage import CoverageVerdict, IgnitionLog, Piece, Schedule
from asfound.ports.backends.ignition_csv import load_ignition
from asfound.ports.backends.proof_json import load_proof
from asfound.ports.backends.schedule_toml import load_schedule
from asfound.ports.progress import Progress

COLUMNS = ("what", "channel", "from", "to", "hours")


def register(app: typer.Typer) -> None:
    """Adds the command."""
    app.command(name="coverage")(coverage_command)


def coverage_command(  # noqa: PLR0913 (an option each)
    paths: Annotated[
        list[Path],
        typer.Argument(
            metavar="PATH...",
            parser=wiring.place,
            help="Recordings, folders of them, or one proof as JSON.",
        ),
    ],
    ignition: Annotated[
        Path | None, typer.Option(metavar="LOG.csv", help="When the vehicle drove.")
    ] = None,
    schedule: Annotated[
        Path | None, typer.Option(metavar="SCHEDULE.toml", help="When it should record.")
    ] = None,
    vehicle: Annotated[str, typer.Option(help="The vehicle, where a log tells of several.")] = "",
    channel: Annotated[
        list[int] | None, typer.Option(help="A channel that should be there; may be repeated.")
    ] = None,
    days: Annotated[
        float | None, typer.Option(help="Days promised: the last so many days count.")
    ] = None,
    since: Annotated[str, typer.Option(help="Count from here, RFC 3339 with offset.")] = "",
    until: Annotated[
        str, typer.Option(help="Count up to here, say when the drive was pulled.")
    ] = "",
    allow: Annotated[
        float, typer.Option(help="Longest hole that is no finding, seconds.")
    ] = ALLOW_S,
    request: Annotated[
        str, typer.Option(metavar="FROM/TO", help="A footage request: which of it is on disk.")
    ] = "",
    pattern: Annotated[
        str, typer.Option(help="How files are named: {channel}_{start:%Y%m%dT%H%M%SZ}")
    ] = "",
    clock_ahead: Annotated[
        float, typer.Option(help="How far the recorder's clock is ahead, seconds.")
    ] = 0.0,
    zone: Annotated[str, typer.Option(help="Time zone to show times in.")] = "",
    csv: Annotated[
        Path | None, typer.Option(metavar="FILE.csv", help="Write every hole there.")
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Print asfound-coverage/1.")] = False,
) -> None:
    """Say which of the hours that should be on disk are there, from containers or a proof.

    Exit code 0: every channel has all of them; 1: hours are missing, or it cannot be told.
    """
    _check_numbers(days=days, allow=allow, clock_ahead=clock_ahead)
    if any(number < 1 for number in channel or ()):
        raise UsageError("--channel: channels are counted from 1")
    expected = _expected(ignition, schedule, vehicle)
    local = _zone(zone, expected)
    asked = parse_period(request, "--request") if request else None
    begin = parse_time(since, "--since") if since else None
    end = parse_time(until, "--until") if until else None
    check_output(csv, ",".join(COLUMNS).encode(), "a table of holes")
    now = wiring.clock().now()
    channels = tuple(channel or ())
    with wiring.progress("Looking at containers") as progress:
        pieces = _pieces(FindPieces(tuple(paths), now, pattern, clock_ahead), progress)
        ask = Cover(pieces, expected, now, begin, end, days, allow, channels, asked, channels)
        made = cover(ask)
    if csv is not None:
        save(csv, csv_text(COLUMNS, coverage_rows(made)))
    if json:
        output.json_out(coverage_data(made))
    else:
        show(made, local)
        if csv is not None:
            output.say(f"{csv}: every hole")
    if made.verdict is not CoverageVerdict.COMPLETE:
        raise typer.Exit(ExitCode.FINDINGS)


def _pieces(request: FindPieces, progress: Progress) -> Iterator[Piece | str]:
    proofs = [path for path in request.paths if path.suffix.lower() == ".json"]
    if proofs and len(request.paths) > 1:
        raise UsageError(f"{proofs[0]}: a proof stands alone; name it, or recordings")
    if proofs:
        if request.pattern:
            raise UsageError("--pattern belongs to recordings; a proof knows their names already")
        return proved_pieces(load_proof(proofs[0]), request)
    return find_pieces(request, video=wiring.video(), progress=progress)


def _expected(ignition: Path | None, schedule: Path | None, vehicle: str) -> IgnitionLog | Schedule:
    if ignition is not None and schedule is None:
        return load_ignition(ignition, vehicle)
    if schedule is None or ignition is not None:
        raise UsageError("give --ignition LOG.csv or --schedule SCHEDULE.toml, one of them")
    if vehicle:
        raise UsageError("--vehicle belongs to --ignition; leave it out")
    return load_schedule(schedule)


def _zone(name: str, expected: IgnitionLog | Schedule) -> ZoneInfo:
    if name:
        return parse_zone(name, "--zone")
    return ZoneInfo(expected.zone if isinstance(expected, Schedule) else "UTC")


def _check_numbers(**options: float | None) -> None:
    for name, value in options.items():
        option = f"--{name.replace('_', '-')}"
        if value is None:
            continue
        if not math.isfinite(value) or abs(value) > 1e8:
            raise UsageError(f"{option}: {value} cannot be; give a plain number")
        if (name != "clock_ahead" and value < 0) or (name == "days" and value == 0):
            raise UsageError(f"{option}: must be more than nothing; give a positive number")
