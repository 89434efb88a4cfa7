"""`asfound clock drift`: how fast a clock drifts, and when it is off by too much."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from asfound.calc.clock_drift import OffsetRead, Passing
from asfound.cli import output
from asfound.cli.findings_data import findings_data
from asfound.cli.home import HomeOption, home_at
from asfound.cli.log_files import (
    ZoneOption,
    chunks_of,
)
from asfound.cli.plot_file import PlotFile, plot_form, write_plot
from asfound.cli.times import utc_text
from asfound.errors import ExitCode, InputError, UsageError
from asfound.jobs.ask_clock import LONGEST, ask_drift
from asfound.jobs.clock_drift import DriftFound, FindDrift, day_text, find_drift, moment
from asfound.jobs.drift_readings import vehicle_readings
from asfound.jobs.plot_clock import plot_drift

DRIFT = "asfound-drift/1"


def drift_command(  # noqa: PLR0913 (an option each)
    readings: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="READING...",
            help="True time and how far the recorder is ahead [s]: '2026-03-01T08:00:00Z +2.5'.",
        ),
    ] = None,
    file: Annotated[
        Path | None, typer.Option("--file", metavar="CSV", help="Readings, one a line.")
    ] = None,
    vehicle: Annotated[
        str, typer.Option(help="Take them from the visits of this vehicle as well.")
    ] = "",
    allowed: Annotated[str, typer.Option(help="Off by more than this is too much.")] = "60s",
    until: Annotated[str, typer.Option(help="It has to hold until this day: 2027-03-01.")] = "",
    celsius: Annotated[str, typer.Option(help="What the recorder goes through: -10..45.")] = "",
    zone: ZoneOption = "",
    home: HomeOption = None,
    plot: PlotFile = None,
    json: Annotated[bool, typer.Option("--json", help=f"Print {DRIFT}.")] = False,
) -> None:
    """How fast a clock drifts, and when it will be off by more than is allowed."""
    plot_form(plot)
    if not (readings or file or vehicle):
        raise UsageError("give readings, --file CSV or --vehicle NUMBER")
    lines = list(readings or ())
    if file is not None:
        lines += _lines(file)
    fields = {
        "readings": "\n".join(lines), "allowed": allowed, "until": until, "celsius": celsius,
        "zone": zone,
    }  # fmt: skip
    request = ask_drift(fields, _of_vehicle(vehicle, home) if vehicle else ())
    found = find_drift(request)
    if json:
        output.json_out(drift_data(request, found))
    else:
        _show_drift(request, found)
    drawn = plot_drift(request, found)
    if drawn is not None:
        write_plot(drawn, plot)
    if found.findings:
        raise typer.Exit(ExitCode.FINDINGS)


def _lines(path: Path) -> list[str]:
    data = b""
    for chunk in chunks_of(path):
        data += chunk
        if len(data) > LONGEST:
            raise InputError(f"{path}: larger than {LONGEST} bytes; give readings of one recorder")
    lines = data.decode("utf-8-sig", "replace").splitlines()
    # A line of names has no figures.
    return lines[1:] if lines and not any(char.isdigit() for char in lines[0]) else lines


def _of_vehicle(vehicle: str, home: Path | None) -> tuple[OffsetRead, ...]:
    place = home_at(home)
    found = place.fleet().vehicle(vehicle)
    return vehicle_readings(found.number, desk=place.desk())


def drift_data(request: FindDrift, found: DriftFound) -> dict[str, Any]:
    """The documented form (docs/bench.md)."""
    drift, soon = found.drift, found.passing
    return {
        "format": DRIFT,
        "readings": [
            {"at": utc_text(moment(one.at_s)), "offset_s": one.offset_s, "within_s": one.within_s}
            for one in request.readings
        ],
        "ppm": drift and [drift.low_ppm, drift.ppm, drift.high_ppm],
        "seconds_a_day": drift and drift.ppm * 0.0864,
        "set": [
            {
                "after": utc_text(moment(one.after_s)),
                "before": utc_text(moment(one.before_s)),
                "seconds": one.seconds,
            }
            for one in (drift.jumps if drift else ())
        ],
        "left_out": [utc_text(moment(one.at_s)) for one in (drift.off if drift else ())],
        "allowed_s": request.allowed_s,
        "passes": soon
        and [
            None if at is None else utc_text(moment(at))
            for at in (soon.earliest_s, soon.likely_s, soon.latest_s)
        ],
        "temperature_ppm": [found.cold_ppm, found.warm_ppm],
        "notes": list(found.notes),
        "findings": findings_data(found.findings),
    }


def _show_drift(request: FindDrift, found: DriftFound) -> None:
    drift, soon = found.drift, found.passing
    if drift is not None and soon is not None:
        out = set(drift.off)
        output.table(
            ("True time (UTC)", "Ahead [s]", "± [s]", ""),
            [
                (
                    f"{moment(one.at_s):%Y-%m-%d %H:%M:%S}",
                    f"{one.offset_s:+.2f}",
                    f"{one.within_s:g}",
                    "left out" if one in out else "",
                )
                for one in sorted(request.readings, key=lambda each: each.at_s)
            ],
            right=(1, 2),
        )
        band = ""
        if drift.low_ppm is not None and drift.high_ppm is not None:
            band = f" (95 %: {drift.low_ppm:+.2f} to {drift.high_ppm:+.2f})"
        output.say(f"{drift.ppm:+.2f} ppm{band}, {drift.ppm * 0.0864:+.2f} s a day", style="bold")
        if abs(drift.read[-1].offset_s) <= request.allowed_s:
            output.say(f"off by {request.allowed_s:g} s: {_when(soon.likely_s)}{_between(soon)}")
    for note in found.notes:
        output.say(note)
    for one in found.findings:
        output.say(f"{one.kind}: {one.note}")


def _when(at_s: float | None) -> str:
    return "not within ten years" if at_s is None else f"about {day_text(at_s)}"


def _between(soon: Passing) -> str:
    if soon.earliest_s is None:
        return ""
    return f", from {day_text(soon.earliest_s)} to " + (
        "never" if soon.latest_s is None else day_text(soon.latest_s)
    )
