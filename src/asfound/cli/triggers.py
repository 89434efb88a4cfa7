"""`asfound triggers`: motion triggers from real drives, and how far they can be believed."""

from __future__ import annotations

from math import isfinite
from pathlib import Path
from typing import Annotated

import typer

from asfound.calc.mounting import GRAVITY_MS2
from asfound.cli import output, wiring
from asfound.cli.plot_file import PlotFile, plot_form, write_plot
from asfound.errors import ExitCode
from asfound.jobs.ask_triggers import HOURS, Files, Source, ask_triggers, gather
from asfound.jobs.judge_triggers import Outcome, a_day, rate_text
from asfound.jobs.mount_log import SIZES_MS2
from asfound.jobs.plot_triggers import plot_triggers
from asfound.jobs.triggers_data import FORMAT, triggers_data
from asfound.jobs.tune_triggers import LogFacts, Tuned, tune_triggers
from asfound.model.drive_log import LogFault
from asfound.units import hours_text

UNITS = {scale: name for name, scale in SIZES_MS2.items()}
SLOW_SAMPLES = 20_000_000
"""From here on somebody without the compiler waits for minutes."""


LogsArgument = Annotated[
    list[Path], typer.Argument(metavar="LOG…", help="Acceleration as CSV, plain or gzip.")
]
MapOption = Annotated[
    str,
    typer.Option(
        "--map",
        metavar="NAME=VALUE,…",
        help="Columns time, x, y, z by name or number; unit=g|mg|m/s2|16384/g, "
        "time-unit=s|ms|us|ns|iso, zone=Europe/Berlin, decimal=comma.",
    ),
]
LabelsOption = Annotated[
    list[Path] | None,
    typer.Option(
        metavar="FILE", help="Harsh events as CSV (start, end, kind); one, or one for each log."
    ),
]
LabelMapOption = Annotated[str, typer.Option(help="start=…,end=…,kind=…,log=…,zone=…")]
HarshOption = Annotated[str, typer.Option(help="Kinds that count, as 'brake*,kerb'; else all.")]
NotHarshOption = Annotated[str, typer.Option(help="Kinds that do not count.")]
SinceOption = Annotated[
    str, typer.Option(help="What labels in seconds count from: start (of the log) or clock.")
]
TrackOption = Annotated[
    list[Path] | None,
    typer.Option(metavar="FILE", help="GPX, NMEA 0183 or CSV; one, or one for each log."),
]
TrackMapOption = Annotated[
    str, typer.Option(help="For CSV: time=…,lat=…,lon=…,speed=…,speed-unit=km/h,time-unit=s")
]
BudgetOption = Annotated[str, typer.Option(help="Events that are accepted: 3/day, 10/week.")]
HoursOption = Annotated[str, typer.Option(help="Hours a day that a vehicle drives.")]
FilterOption = Annotated[
    str,
    typer.Option("--filter", help="5Hz (causal Butterworth), 5Hz order 2, or CFC60 (SAE J211-1)."),
]
HoldOffOption = Annotated[str, typer.Option(help="From one event to the next at least: 10s.")]
UpOption = Annotated[str, typer.Option(help="The sensor's axis that points up: z, -y; else found.")]
ForwardOption = Annotated[
    str, typer.Option(help="The axis that points forward; else found by the track.")
]
GravityOption = Annotated[
    str, typer.Option(help="Whether it is in the figures: included or removed; else found.")
]


def register(app: typer.Typer) -> None:
    """Adds the command."""
    app.command(name="triggers")(triggers_command)


def triggers_command(  # noqa: PLR0913 (an option each)
    logs: LogsArgument,
    columns: MapOption = "",
    labels: LabelsOption = None,
    label_map: LabelMapOption = "",
    harsh: HarshOption = "",
    not_harsh: NotHarshOption = "",
    labels_since: SinceOption = "",
    track: TrackOption = None,
    track_map: TrackMapOption = "",
    budget: BudgetOption = "",
    hours: HoursOption = HOURS,
    filtered: FilterOption = "",
    hold_off: HoldOffOption = "",
    up: UpOption = "",
    forward: ForwardOption = "",
    gravity: GravityOption = "",
    plot: PlotFile = None,
    json: Annotated[bool, typer.Option("--json", help=f"Print {FORMAT}.")] = False,
) -> None:
    """Thresholds and durations of motion triggers, from what the vehicles really did.

    Exit code 0: recommended, and shown to hold; 1: there are findings.
    """
    plot_form(plot)
    asked = ask_triggers(
        {
            "map": columns, "label_map": label_map, "harsh": harsh, "not_harsh": not_harsh,
            "labels_since": labels_since, "track_map": track_map, "budget": budget, "hours": hours,
            "filter": filtered, "hold_off": hold_off, "up": up, "forward": forward,
            "gravity": gravity,
        }
    )  # fmt: skip
    files = Files(_sources(logs), _sources(track or []), _sources(labels or []))
    request, left_out = gather(asked, files)
    machine = wiring.sweeps()
    with output.progress_bar("logs") as progress:
        tuned = tune_triggers(request, sweeps=machine, progress=progress)
    if json:
        output.json_out(triggers_data(tuned, left_out))
    else:
        _show(tuned, left_out)
    if not machine.compiled and sum(one.survey.samples for one in tuned.logs) > SLOW_SAMPLES:
        output.warn("asfound: with the extra 'fast' (pip install asfound[fast]) this takes seconds")
    write_plot(plot_triggers(tuned), plot)
    if tuned.findings:
        raise typer.Exit(ExitCode.FINDINGS)


def _sources(paths: list[Path]) -> list[Source]:
    return [(str(path), wiring.log_chunks(path)) for path in paths]


def _show(tuned: Tuned, left_out: tuple[LogFault, ...]) -> None:
    for one in tuned.logs:
        output.say(_log_line(one))
        for fault in one.faults:
            output.say(f"  left out: {fault.where}: {fault.what}")
    for fault in left_out:
        output.say(f"left out: {fault.where}: {fault.what}")
    output.say(f"filter: {tuned.logs[0].filter.name}")
    _show_triggers(tuned)
    request, judged = tuned.request, tuned.judged
    if judged.parts:
        output.say(
            f"judged on {judged.parts} parts of the logs, each by triggers that the others chose:",
            style="bold",
        )
        output.say(f"  {_outcome_line(judged.outcome, request.hours_a_day)}")
    else:
        output.say("judged on nothing: the log has one part alone", style="bold")
    if tuned.fixed is not None:
        output.say(
            f"beside it, one raw sample at 0.4 g: {_outcome_line(tuned.fixed, request.hours_a_day)}"
        )
    for finding in tuned.findings:
        output.say(f"found {finding.kind}: {finding.note}")


def _log_line(one: LogFacts) -> str:
    survey, mounted = one.survey, one.mounted
    sits = "which way is up is not known"
    if mounted.up is not None:
        sits = f"up within {mounted.up.error_deg:.1f}°"
        if mounted.forward is not None:
            sits += f", forward within {mounted.forward.error_deg:.1f}°"
        else:
            sits += ", forward not known"
    gaps = f", {output.count(survey.gaps, 'gap')}" if survey.gaps else ""
    unit = UNITS.get(mounted.scale, f"{GRAVITY_MS2 / mounted.scale:.6g} a g")
    left = "" if mounted.gravity else ", gravity taken away"
    return (
        f"{one.name}: {hours_text(survey.hours)} h at {survey.ticks.rate_hz:g} Hz{gaps}, "
        f"in {unit}{left}, {sits} (standard error)"
    )


def _show_triggers(tuned: Tuned) -> None:
    rows = []
    for trigger, pick in zip(tuned.triggers, tuned.picks, strict=True):
        tally = tuned.tallies[pick.direction]
        events = int(tally.events[pick.level - 1, pick.d])
        rows.append(
            (
                trigger.direction.value,
                f"{trigger.threshold_g:.2f} g",
                f"{trigger.duration_s:g} s",
                _band(events, tally.hours, tuned.request.hours_a_day),
                f"{int((tally.best[:, pick.d] >= pick.level).sum())} of {len(tally.best)}"
                if tuned.labels
                else "",
            )
        )
    off = [
        each.value for each in tuned.tallies if each not in {t.direction for t in tuned.triggers}
    ]
    rows += [(name, "off", "", "", "") for name in off]
    output.table(
        ("direction", "threshold", "for at least", "events a day here", "labels caught"),
        rows,
        title="recommended",
        right=(1, 2, 3, 4),
    )


def _band(events: int, hours: float, hours_a_day: float) -> str:
    low, likely, high = a_day(events, hours, hours_a_day)
    if not isfinite(high):
        return "not known"
    return f"{rate_text(likely)} (from {rate_text(low)} to {rate_text(high)})"


def _outcome_line(one: Outcome, hours_a_day: float) -> str:
    if not one.labels:
        return f"{_band(one.events, one.hours, hours_a_day)} events a day"
    low, high = one.recall_limits()
    said = [f"{one.caught} of {one.labels} labels caught ({low:.0%} to {high:.0%})"]
    if one.precision is not None:
        low, high = one.precision_limits()
        said.append(f"precision {one.precision:.0%} ({low:.0%} to {high:.0%})")
    said.append(f"{_band(one.outside, one.hours, hours_a_day)} events a day outside of labels")
    return ", ".join(said)
