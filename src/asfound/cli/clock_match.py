"""`asfound clock match`: how far a recorder's clock is off, by two speed logs."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from asfound.cli import output
from asfound.cli.findings_data import findings_data
from asfound.cli.log_files import (
    ColumnsOption,
    DecimalOption,
    SpeedUnitOption,
    TimesOption,
    ZoneOption,
    log_data,
    say_log,
    track_from,
)
from asfound.cli.plot_file import PlotFile, plot_form, write_plot
from asfound.errors import ExitCode
from asfound.jobs.ask_clock import ask_span
from asfound.jobs.ask_track import ask_track
from asfound.jobs.match_logs import LATENCY, Matched, MatchLogs, match_logs
from asfound.jobs.plot_clock import plot_match

MATCH = "asfound-match/1"


def match_command(  # noqa: PLR0913 (an option each)
    recorder: Annotated[Path, typer.Argument(metavar="RECORDER", help="The recorder's log.")],
    reference: Annotated[
        Path, typer.Argument(metavar="REFERENCE", help="A log whose clock is right.")
    ],
    most: Annotated[str, typer.Option(help="Offsets up to this are looked at.")] = "1h",
    allowed: Annotated[str, typer.Option(help="More than this is a finding: 5s.")] = "",
    columns: ColumnsOption = "",
    speed_unit: SpeedUnitOption = "km/h",
    times: TimesOption = "iso",
    zone: ZoneOption = "",
    decimal: DecimalOption = ".",
    reference_columns: ColumnsOption = "",
    reference_speed_unit: SpeedUnitOption = "km/h",
    reference_times: TimesOption = "iso",
    reference_zone: ZoneOption = "",
    reference_decimal: DecimalOption = ".",
    plot: PlotFile = None,
    json: Annotated[bool, typer.Option("--json", help=f"Print {MATCH}.")] = False,
) -> None:
    """How far the recorder's clock is off, by the speed in its log and in one whose clock is right.

    Columns, units and times are those of the recorder's log; with reference in front, of the other.
    """
    plot_form(plot)
    fields = {
        "columns": columns, "speed_unit": speed_unit, "times": times, "zone": zone,
        "decimal": decimal, "reference_columns": reference_columns,
        "reference_speed_unit": reference_speed_unit, "reference_times": reference_times,
        "reference_zone": reference_zone, "reference_decimal": reference_decimal,
    }  # fmt: skip
    asks = ask_track(fields), ask_track(fields, "reference_")
    request = MatchLogs(
        track_from(recorder, asks[0]),
        track_from(reference, asks[1]),
        ask_span(most, "most"),
        ask_span(allowed, "allowed") if allowed else None,
    )
    matched = match_logs(request)
    if json:
        output.json_out(match_data(request, matched))
    else:
        _show_match(request, matched)
    drawn = plot_match(request, matched)
    if drawn is not None:
        write_plot(drawn, plot)
    if matched.findings:
        raise typer.Exit(ExitCode.FINDINGS)


def match_data(request: MatchLogs, matched: Matched) -> dict[str, Any]:
    """The documented form (docs/bench.md)."""
    match = matched.match
    return {
        "format": MATCH,
        "recorder": log_data(request.recorder),
        "reference": log_data(request.reference),
        "sure": matched.sure,
        "offset_s": match.offset_s if match and matched.sure else None,
        "within_s": match.within_s if match and matched.sure else None,
        "r": match and match.r,
        "margin": match and match.margin,
        "shared_s": match and match.shared_s,
        "findings": findings_data(matched.findings),
    }


def _show_match(request: MatchLogs, matched: Matched) -> None:
    say_log(request.recorder)
    say_log(request.reference)
    match = matched.match
    if match is not None and matched.sure:
        way = "ahead" if match.offset_s > 0 else "behind"
        output.say(
            f"the recorder's clock is {abs(match.offset_s):.2f} s {way} (± {match.within_s:.2f} "
            f"s), from {match.shared_s / 60:.0f} min of both logs, r {match.r:.2f}",
            style="bold",
        )
        output.say(LATENCY)
    else:
        output.say("could not tell", style="bold")
    for one in matched.findings:
        output.say(f"{one.kind}: {one.note}")
