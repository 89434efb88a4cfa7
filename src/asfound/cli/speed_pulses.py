"""`asfound speed pulses`: the wheel-pulse constant by satellite distance."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from asfound.cli import output
from asfound.cli.findings_data import findings_data
from asfound.cli.log_files import (
    ColumnsOption,
    DayOption,
    DecimalOption,
    SpeedUnitOption,
    TimesOption,
    ZoneOption,
    chunks_of,
    log_data,
    say_faults,
    say_log,
    track_from,
)
from asfound.cli.plot_file import PlotFile, plot_form, write_plot
from asfound.errors import ExitCode
from asfound.jobs.ask_speed import ask_pulse_form, ask_pulses
from asfound.jobs.ask_track import ask_track
from asfound.jobs.calibrate_pulses import Calibrated, CalibratePulses, calibrate_pulses
from asfound.jobs.plot_speed import plot_pulses
from asfound.jobs.read_pulses import read_pulses

PULSES = "asfound-pulses/1"


def pulses_command(  # noqa: PLR0913 (an option each)
    track: Annotated[Path, typer.Argument(metavar="TRACK", help="GPX, NMEA 0183 or CSV.")],
    pulses: Annotated[
        Path, typer.Option(metavar="LOG.csv", help="Times with pulses so far, or their frequency.")
    ],
    setting: Annotated[str, typer.Option(help="What the recorder is set to: 8000.")] = "",
    tyre: Annotated[str, typer.Option(help="Size on the tyre: 295/80R22.5.")] = "",
    per_turn: Annotated[str, typer.Option(help="Pulses a turn of the wheel: 26.")] = "",
    same_clock: Annotated[
        bool, typer.Option("--same-clock", help="Both logs have one clock: do not match them.")
    ] = False,
    pulse_columns: Annotated[
        str, typer.Option(help="Columns of the pulse log: time=1,count=2 or time=1,hz=2.")
    ] = "",
    pulse_times: TimesOption = "iso",
    pulse_zone: ZoneOption = "",
    pulse_decimal: DecimalOption = ".",
    columns: ColumnsOption = "",
    speed_unit: SpeedUnitOption = "km/h",
    times: TimesOption = "iso",
    zone: ZoneOption = "",
    decimal: DecimalOption = ".",
    day: DayOption = "",
    plot: PlotFile = None,
    json: Annotated[bool, typer.Option("--json", help=f"Print {PULSES}.")] = False,
) -> None:
    """Wheel pulses a kilometre by satellite distance, against what is set and the tyre."""
    plot_form(plot)
    fields = {
        "setting": setting, "tyre": tyre, "per_turn": per_turn,
        "align": "no" if same_clock else "yes", "pulse_columns": pulse_columns,
        "pulse_times": pulse_times, "pulse_zone": pulse_zone, "pulse_decimal": pulse_decimal,
        "columns": columns, "speed_unit": speed_unit, "times": times, "zone": zone,
        "decimal": decimal, "day": day,
    }  # fmt: skip
    form, ask = ask_pulse_form(fields, "pulse_"), ask_track(fields)
    counted = read_pulses(pulses.name, chunks_of(pulses), form)
    request = ask_pulses(fields, counted, track_from(track, ask))
    made = calibrate_pulses(request)
    if json:
        output.json_out(pulse_data(request, made))
    else:
        _show_pulses(request, made)
    drawn = plot_pulses(request, made)
    if drawn is not None:
        write_plot(drawn, plot)
    if made.findings:
        raise typer.Exit(ExitCode.FINDINGS)


def pulse_data(request: CalibratePulses, made: Calibrated) -> dict[str, Any]:
    """The documented form (docs/bench.md)."""
    rate, match, pulses = made.rate, made.match, request.pulses
    return {
        "format": PULSES,
        "track": log_data(request.track),
        "pulses": {
            "name": pulses.name,
            "lines": len(pulses.times_s),
            "left_out": pulses.left_out,
            "faults": [{"where": fault.where, "what": fault.what} for fault in pulses.faults],
        },
        "distance_from": "speeds" if made.by_speeds else "positions",
        "per_km": rate and [rate.low, rate.per_km, rate.high],
        "minutes": len(made.windows.pulses),
        "minutes_off": rate and rate.off,
        "clock_offset_s": match.offset_s if match is not None and match.sure else None,
        "setting": request.setting,
        "shown_too_high": made.shown_share,
        "per_turn": made.per_turn and list(made.per_turn),
        "findings": findings_data(made.findings),
    }


def _show_pulses(request: CalibratePulses, made: Calibrated) -> None:
    say_log(request.track)
    pulses = request.pulses
    left = f", {pulses.left_out} left out" if pulses.left_out else ""
    output.say(f"{pulses.name}: {output.count(len(pulses.times_s), 'line')}{left}")
    say_faults(pulses.faults)
    if made.match is not None and made.match.sure:
        way = "ahead of" if made.match.offset_s > 0 else "behind"
        output.say(f"the pulse log's clock is {abs(made.match.offset_s):.2f} s {way} the track's")
    if made.rate is not None:
        rate = made.rate
        output.say(
            f"{rate.per_km:.0f} pulses a km (95 %: {rate.low:.0f} to {rate.high:.0f}), from "
            f"{output.count(rate.windows, 'minute')} of driving, {rate.off} of them off",
            style="bold",
        )
        source = "the receiver's speeds" if made.by_speeds else "positions"
        output.say(
            f"distance by {source}; tyre pressure, wear and load move it by some tenths of a %"
        )
    if made.per_turn is not None:
        low, high = made.per_turn
        output.say(f"with this tyre, {low:.2f} to {high:.2f} pulses a turn of the wheel")
    for one in made.findings:
        output.say(f"{one.kind}: {one.note}")
