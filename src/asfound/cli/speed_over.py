"""`asfound speed over`: how often a speed trigger would fire."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from asfound.calc.speed_tolerances import RECEIVER_KMH, TACHOGRAPH_KMH, speedometer_most
from asfound.cli import output
from asfound.cli.findings_data import findings_data
from asfound.cli.log_files import (
    ColumnsOption,
    DayOption,
    DecimalOption,
    SpeedUnitOption,
    TimesOption,
    ZoneOption,
    log_data,
    say_log,
    track_from,
)
from asfound.cli.plot_file import PlotFile, plot_form, write_plot
from asfound.cli.times import utc_text
from asfound.errors import ExitCode
from asfound.jobs.ask_speed import ask_speed
from asfound.jobs.ask_track import ask_track
from asfound.jobs.clock_drift import moment
from asfound.jobs.plot_speed import plot_watch
from asfound.jobs.watch_speed import Watched, WatchSpeed, watch_speed

SPEED = "asfound-speed/1"
SHOWN = 20


def over_command(  # noqa: PLR0913 (an option each)
    logs: Annotated[list[Path], typer.Argument(metavar="LOG...", help="GPX, NMEA 0183 or CSV.")],
    limit: Annotated[str, typer.Option(help="The speed that may not be passed: 80km/h.")],
    tolerance: Annotated[str, typer.Option(help="So much more is let pass: 5km/h.")] = "0km/h",
    lasting: Annotated[str, typer.Option(help="For so long at least: 3s.")] = "3s",
    limits: Annotated[str, typer.Option(help="Limits of the table in km/h: 60..110/10.")] = "",
    budget: Annotated[str, typer.Option(help="Events a day that are wanted at most.")] = "",
    columns: ColumnsOption = "",
    speed_unit: SpeedUnitOption = "km/h",
    times: TimesOption = "iso",
    zone: ZoneOption = "",
    decimal: DecimalOption = ".",
    day: DayOption = "",
    plot: PlotFile = None,
    json: Annotated[bool, typer.Option("--json", help=f"Print {SPEED}.")] = False,
) -> None:
    """How often a speed limit is passed, and how many events a day other limits would make."""
    plot_form(plot)
    fields = {
        "limit": limit, "tolerance": tolerance, "lasting": lasting, "limits": limits,
        "budget": budget, "columns": columns, "speed_unit": speed_unit, "times": times,
        "zone": zone, "decimal": decimal, "day": day,
    }  # fmt: skip
    ask = ask_track(fields)
    ask_speed(fields, ())
    request = ask_speed(fields, tuple(track_from(path, ask) for path in logs))
    watched = watch_speed(request)
    if json:
        output.json_out(speed_data(request, watched))
    else:
        _show_speed(request, watched)
    drawn = plot_watch(request, watched)
    if drawn is not None:
        write_plot(drawn, plot)
    if watched.findings:
        raise typer.Exit(ExitCode.FINDINGS)


def speed_data(request: WatchSpeed, watched: Watched) -> dict[str, Any]:
    """The documented form (docs/bench.md)."""
    return {
        "format": SPEED,
        "logs": [log_data(log) for log in request.logs],
        "speeds_from": "receiver" if watched.by_speeds else "positions",
        "days": watched.days,
        "hours": watched.hours,
        "km": watched.km,
        "top_kmh": watched.top_kmh,
        "limit_kmh": request.limit_kmh,
        "tolerance_kmh": request.tolerance_kmh,
        "lasting_s": request.least_s,
        "count": watched.count,
        "events_a_day": [watched.band[0], watched.a_day, watched.band[1]],
        "events": [
            {
                "start": utc_text(moment(one.start_s)),
                "end": utc_text(moment(one.end_s)),
                "top_kmh": one.top_ms * 3.6,
            }
            for one in watched.events
        ],
        "table": {
            "limits_kmh": list(request.limits_kmh),
            "lasting_s": list(request.lasting_s),
            "events": [list(row) for row in watched.table],
        },
        "budget_kept_kmh": watched.kept_kmh,
        "budget_sure_kmh": watched.sure_kmh,
        "notes": list(watched.notes),
        "findings": findings_data(watched.findings),
    }


def _show_speed(request: WatchSpeed, watched: Watched) -> None:
    for log in request.logs:
        say_log(log)
    days = output.count(watched.days, "day")
    output.say(
        f"{days}, {watched.hours:.1f} h and {watched.km:.0f} km with known speed, at most "
        f"{watched.top_kmh:.1f} km/h"
    )
    if not watched.by_speeds:
        output.say("speeds are worked out from positions: short peaks are smoothed away")
    over = request.limit_kmh + request.tolerance_kmh
    output.say(
        f"faster than {over:g} km/h for {request.least_s:g} s: {watched.a_day:.2f} events a day "
        f"(95 %: {watched.band[0]:.2f} to {watched.band[1]:.2f})",
        style="bold",
    )
    if watched.events:
        output.table(
            ("From (UTC)", "Seconds", "Top km/h"),
            [
                (
                    f"{moment(one.start_s):%Y-%m-%d %H:%M:%S}",
                    f"{one.end_s - one.start_s:.0f}",
                    f"{one.top_ms * 3.6:.1f}",
                )
                for one in watched.events[:SHOWN]
            ],
            right=(1, 2),
        )
        if watched.count > SHOWN:
            output.say(f"and {watched.count - SHOWN} more (--json lists up to 1000)")
    output.table(
        ("Limit km/h", *(f"{each:g} s" for each in request.lasting_s)),
        [
            (f"{limit:g}", *(f"{count / watched.days:.2f}" for count in row))
            for limit, row in zip(request.limits_kmh, watched.table, strict=True)
        ],
        title="Events a day, by limit (tolerance comes on top) and shortest duration",
        right=tuple(range(len(request.lasting_s) + 1)),
    )
    if request.budget is not None:
        kept = "none" if watched.kept_kmh is None else f"{watched.kept_kmh:g} km/h"
        sure = "none" if watched.sure_kmh is None else f"{watched.sure_kmh:g} km/h"
        output.say(f"lowest limit within the budget: {kept}; sure of it by these days: {sure}")
    output.say(
        f"at {request.limit_kmh:g} km/h a speedometer may show up to "
        f"{speedometer_most(request.limit_kmh):.0f} (UN R39), a tachograph in use may be "
        f"{TACHOGRAPH_KMH.value:g} off, a receiver {RECEIVER_KMH.value:g} (rules from memory)"
    )
    for note in watched.notes:
        output.say(note)
    for one in watched.findings:
        output.say(f"{one.kind}: {one.note}")
