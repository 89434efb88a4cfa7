"""`asfound coverage`: which hours are on disk, held against those that should be."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated
from zoneinfo import ZoneInfo

import typer

from asfound.calc.safe_csv import csv_text
from asfound.cli import coverage_ask as ask
from asfound.cli import output
from asfound.cli.coverage_show import coverage_data, coverage_rows, show
from asfound.cli.save import check_output, save
from asfound.cli.times import parse_zone
from asfound.errors import ExitCode
from asfound.jobs.coverage import ALLOW_S, cover
from asfound.model.coverage import CoverageVerdict, IgnitionLog, Schedule

COLUMNS = ("what", "channel", "from", "to", "hours")


def register(app: typer.Typer) -> None:
    """Adds the command."""
    app.command(name="coverage")(coverage_command)


def coverage_command(  # noqa: PLR0913 (an option each)
    paths: ask.PathsArgument,
    ignition: ask.IgnitionOption = None,
    schedule: ask.ScheduleOption = None,
    vehicle: ask.VehicleOption = "",
    channel: ask.ChannelOption = None,
    days: ask.DaysOption = None,
    since: ask.SinceOption = "",
    until: ask.UntilOption = "",
    allow: ask.AllowOption = ALLOW_S,
    request: ask.RequestOption = "",
    pattern: ask.PatternOption = "",
    clock_ahead: ask.AheadOption = 0.0,
    zone: Annotated[str, typer.Option(help="Time zone to show times in.")] = "",
    csv: Annotated[
        Path | None, typer.Option(metavar="FILE.csv", help="Write every hole there.")
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Print asfound-coverage/1.")] = False,
) -> None:
    """Say which of the hours that should be on disk are there, from containers or a proof.

    Exit code 0: every channel has all of them; 1: hours are missing, or it cannot be told.
    """
    asked = ask.Asked(
        tuple(paths), ignition, schedule, vehicle, tuple(channel or ()), days, since, until, allow,
        request, pattern, clock_ahead,
    )  # fmt: skip
    expected = ask.expected_of(asked)
    local = _zone(zone, expected)
    check_output(csv, ",".join(COLUMNS).encode(), "a table of holes")
    with ask.covering(asked, expected) as question:
        made = cover(question)
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


def _zone(name: str, expected: IgnitionLog | Schedule) -> ZoneInfo:
    if name:
        return parse_zone(name, "--zone")
    return ZoneInfo(expected.zone if isinstance(expected, Schedule) else "UTC")
