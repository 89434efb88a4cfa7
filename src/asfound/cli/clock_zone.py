"""`asfound clock zone`: when a zone's clocks change, and what another setting would show."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any

import typer

from asfound.cli import output, wiring
from asfound.cli.findings_data import findings_data
from asfound.cli.plot_file import PlotFile, plot_form, write_plot
from asfound.cli.times import utc_text
from asfound.errors import ExitCode
from asfound.jobs.ask_clock import ask_zone
from asfound.jobs.clock_drift import moment
from asfound.jobs.plot_clock import plot_zone
from asfound.jobs.zone_table import (
    GPS_AHEAD_S,
    TableZone,
    ZoneTable,
    local_text,
    shift_text,
    zone_table,
)
from asfound.ports.zones import ZONES_VERSION

ZONE = "asfound-zone/1"


def zone_command(
    place: Annotated[str, typer.Argument(metavar="ZONE", help="The fleet's zone: Europe/Madrid.")],
    recorder: Annotated[
        str, typer.Option(help="What the recorder is set to: +01:00, or a zone.")
    ] = "",
    saving: Annotated[
        str, typer.Option(help="Whose rule its daylight saving follows, a zone; else it is off.")
    ] = "",
    year: Annotated[str, typer.Option(help="Which year; this one unless said.")] = "",
    plot: PlotFile = None,
    json: Annotated[bool, typer.Option("--json", help=f"Print {ZONE}.")] = False,
) -> None:
    """When a zone's clocks change, and when a recorder that is set otherwise shows a wrong time."""
    plot_form(plot)
    fields = {"place": place, "recorder": recorder, "saving": saving, "year": year}
    request = ask_zone(fields, wiring.clock().now().year)
    table = zone_table(request)
    if json:
        output.json_out(zone_data(request, table))
    else:
        _show_zone(request, table)
    write_plot(plot_zone(table), plot)
    if table.findings:
        raise typer.Exit(ExitCode.FINDINGS)


def zone_data(request: TableZone, table: ZoneTable) -> dict[str, Any]:
    """The documented form (docs/bench.md)."""
    return {
        "format": ZONE,
        "zone": request.zone.key,
        "tzdata": ZONES_VERSION,
        "year": request.year,
        "recorder": request.recorder.words if request.recorder else None,
        "changes": [
            {
                "at": utc_text(one.at),
                "before_s": one.before_s,
                "after_s": one.after_s,
                "hour": "missing" if one.forward else "twice",
                "local": [_naive(each) for each in one.local],
            }
            for one in table.changes
        ],
        "wrong": [
            {
                "start": utc_text(one.start),
                "end": utc_text(one.end),
                "error_s": one.error_s,
                "hours": one.hours,
            }
            for one in table.spans
        ],
        "wrong_hours": table.wrong_hours,
        "notes": list(table.notes),
        "findings": findings_data(table.findings),
    }


def _naive(at: datetime) -> str:
    return f"{at:%Y-%m-%dT%H:%M:%S}"


def _show_zone(request: TableZone, table: ZoneTable) -> None:
    name = request.zone.key
    if table.changes:
        output.table(
            ("Change (UTC)", "UTC offset", "becomes", "Local hour", "from", "to"),
            [
                (
                    local_text(one.at, 0),
                    shift_text(one.before_s),
                    shift_text(one.after_s),
                    "does not exist" if one.forward else "comes twice",
                    *(f"{each:%m-%d %H:%M}" for each in one.local),
                )
                for one in table.changes
            ],
            title=f"{name} in {request.year} (IANA tz database {ZONES_VERSION})",
        )
    else:
        output.say(f"{name} does not change in {request.year} (IANA tz database {ZONES_VERSION})")
    if request.recorder is not None:
        output.say(f"recorder set to {request.recorder.words}")
        output.table(
            ("From (UTC)", "To (UTC)", "Days", "Recorder - true [h]", "At noon it shows"),
            [
                (
                    local_text(one.start, 0),
                    local_text(one.end, 0),
                    f"{one.hours / 24:.1f}",
                    shift_text(one.error_s),
                    local_text(moment(43_200), one.error_s)[-5:],
                )
                for one in table.spans
            ],
            right=(2, 3),
        )
        right = "" if table.spans else ": right all year"
        output.say(f"wrong for {table.wrong_hours / 24:.1f} days{right}", style="bold")
    for note in table.notes:
        output.say(note)
    output.say(
        f"a recorder that shows GPS time instead of UTC is {GPS_AHEAD_S} s ahead (since 2017)"
    )
    for one in table.findings:
        output.say(f"{one.kind}: {one.note}")
