"""`asfound visit coverage`: which hours are on disk, counted and kept in the visit."""

from __future__ import annotations

from typing import Annotated

import typer

from asfound.cli import coverage_ask as ask
from asfound.cli import output
from asfound.cli.coverage_show import coverage_data, show
from asfound.cli.home import HomeOption, home_at
from asfound.cli.visit_jobs import VisitArgument, WorkerOption
from asfound.errors import ExitCode
from asfound.jobs.coverage import ALLOW_S
from asfound.jobs.visit_cover import VisitCover, visit_cover
from asfound.model.coverage import CoverageVerdict


def coverage_command(  # noqa: PLR0913 (an option each)
    visit: VisitArgument,
    paths: ask.PathsArgument,
    ignition: ask.IgnitionOption = None,
    schedule: ask.ScheduleOption = None,
    vehicle: Annotated[
        str, typer.Option(help="As the log calls it; else by fleet number or plate.")
    ] = "",
    channel: ask.ChannelOption = None,
    days: Annotated[
        float | None, typer.Option(help="Days promised; else those of the fleet file.")
    ] = None,
    since: ask.SinceOption = "",
    until: ask.UntilOption = "",
    allow: ask.AllowOption = ALLOW_S,
    request: ask.RequestOption = "",
    pattern: ask.PatternOption = "",
    clock_ahead: ask.AheadOption = 0.0,
    by: WorkerOption = "",
    json: Annotated[bool, typer.Option("--json", help="Print asfound-coverage/1.")] = False,
    home: HomeOption = None,
) -> None:
    """Count which hours are on disk, and keep the count in the visit and its report.

    Every fitted camera must be there, unless --channel names them. Exit code 1: hours are
    missing, or it cannot be told.
    """
    place = home_at(home)
    state, zone, fleet = place.visit(visit), place.zone(), place.fleet()
    own = (state.vehicle.number, state.vehicle.plate)
    promised = days if days is not None or since else fleet.minimum_days
    asked = ask.Asked(
        tuple(paths), ignition, schedule, vehicle, tuple(channel or ()), promised, since, until,
        allow, request, pattern, clock_ahead, own,
    )  # fmt: skip
    fitted = tuple(sorted(camera.channel for camera in state.vehicle.cameras))
    searched = tuple(str(path) for path in paths)
    with ask.covering(asked, ask.expected_of(asked), fitted) as question:
        keep = VisitCover(visit, question, asked.file, searched, by or state.opened_by)
        state = visit_cover(keep, desk=place.desk())
    made = state.coverage[-1].coverage
    if json:
        output.json_out(coverage_data(made))
    else:
        show(made, zone)
        output.say(f"kept in visit {state.id}; its report says so")
    if made.verdict is not CoverageVerdict.COMPLETE:
        raise typer.Exit(ExitCode.FINDINGS)
