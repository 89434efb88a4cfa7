"""`asfound drive life`: how long a drive's rated writes last at what a recorder writes."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from asfound.calc.days_kept import Band
from asfound.calc.drive_life import FOREVER_YEARS
from asfound.cli import output
from asfound.cli.days import measured_in
from asfound.cli.drive_health import load_report, show_findings
from asfound.cli.plot_file import PlotFile, plot_form, write_plot
from asfound.errors import ExitCode, UsageError
from asfound.jobs.ask_drive import ask_drive_life
from asfound.jobs.ask_storage import SPREAD
from asfound.jobs.drive_data import life_data
from asfound.jobs.drive_life import DriveLife, Life, drive_life
from asfound.jobs.plot_drive_life import plot_drive_life
from asfound.units import TB, bytes_text

FORMAT = "asfound-drive-life/1"


def life_command(  # noqa: PLR0913 (an option each)
    drive: Annotated[str, typer.Option(help="The drive as its label says: 1TB.")] = "",
    tbw: Annotated[str, typer.Option(help="Rated writes, from its data sheet: 600TB.")] = "",
    dwpd: Annotated[str, typer.Option(help="Instead: rated drive writes a day: 0.3.")] = "",
    warranty: Annotated[str, typer.Option(metavar="YEARS", help="Its warranty.")] = "",
    workload: Annotated[
        str, typer.Option(help="Hard disks: rated workload of a year: 180TB.")
    ] = "",
    written: Annotated[str, typer.Option(help="Written so far: 120TB.")] = "",
    smart: Annotated[
        Path | None,
        typer.Option(metavar="SMART.json", help="Instead, and its size: `smartctl --json -x`."),
    ] = None,
    years: Annotated[str, typer.Option(metavar="YEARS", help="It is to last so long.")] = "",
    amplification: Annotated[
        str, typer.Option(help="How many times as hard as the rating's workload: 2.")
    ] = "1",
    channels: Annotated[
        list[str] | None,
        typer.Option(metavar="NxRATE", help="Channels and their rate: 4x2Mbit/s. May be repeated."),
    ] = None,
    rate: Annotated[str, typer.Option(help="Instead: all channels together: 16Mbit/s.")] = "",
    proof: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Instead, measured: what `asfound prove --json` wrote."),
    ] = None,
    audio: Annotated[str, typer.Option(help="Sound of each channel: 64kbit/s.")] = "",
    hours: Annotated[str, typer.Option(help="Hours a day that it records, run-on and all.")] = "",
    ignition: Annotated[
        str, typer.Option(help="Instead, when the ignition is on: 05:30-13:00, 15:00-23:30.")
    ] = "",
    run_on: Annotated[str, typer.Option(help="How long it records after each: 30min.")] = "",
    week: Annotated[str, typer.Option(metavar="DAYS", help="Days a week that it drives.")] = "7",
    spread: Annotated[str, typer.Option(help="How far rates lie either way.")] = SPREAD,
    plot: PlotFile = None,
    json: Annotated[bool, typer.Option("--json", help=f"Print {FORMAT}.")] = False,
) -> None:
    """Years until a drive's rated writes are used up, or the workload class a hard disk needs."""
    if proof is not None and (channels or rate):
        raise UsageError("say --channels, --rate or --proof FILE, one of them")
    plot_form(plot)
    fields = {
        "drive": drive, "tbw": tbw, "dwpd": dwpd, "warranty": warranty, "workload": workload,
        "written": written, "years": years, "amplification": amplification,
        "channels": ", ".join(channels or ()), "rate": rate, "audio": audio, "hours": hours,
        "ignition": ignition, "run_on": run_on, "week": week, "spread": spread,
    }  # fmt: skip
    measured = () if proof is None else tuple(measured_in(proof))
    report = None if smart is None else load_report(str(smart))
    request = ask_drive_life(fields, measured, report)
    result = drive_life(request)
    if json:
        output.json_out({"format": FORMAT, **life_data(request, result)})
    else:
        output.table(("", ""), _facts(request, result))
        output.say(_verdict(result), style="bold")
        show_findings(result.findings)
    write_plot(plot_drive_life(request), plot)
    if result.findings:
        raise typer.Exit(ExitCode.FINDINGS)


def _facts(request: DriveLife, life: Life) -> list[tuple[str, str]]:
    """What is known of the load and the drive, as rows of a table; what was not said has none."""
    a_day, a_year = request.wear.bytes_a_day, life.written_a_year
    rows = [
        ("written a day", f"{bytes_text(a_day.likely)} ({_from_to(a_day)})"),
        ("written a year", f"{bytes_text(a_year.likely)} ({_from_to(a_year)})"),
    ]
    if request.wear.amplification != 1:
        rows.append(("write amplification", f"{request.wear.amplification:g}"))
    if life.writes_a_day is not None:
        rows.append(("drive writes a day", f"{life.writes_a_day:.3f}"))
    if life.rated_writes_a_day is not None:
        rows.append(("rated drive writes a day", f"{life.rated_writes_a_day:.3f}"))
    if life.rated is not None:
        rows.append(("rated writes", bytes_text(life.rated)))
    if request.written:
        rows.append(("written so far", bytes_text(request.written)))
    if life.used_share:
        rows.append(("rated writes used", f"{life.used_share:.1%}"))
    if life.amplification_seen is not None:
        rows.append(("amplification by the drive's own word", f"{life.amplification_seen:.1f}"))
    if request.workload is not None:
        rows.append(("rated workload a year", bytes_text(request.workload)))
    enough = life.workload_class
    if life.rated is not None:
        # Classes of workload are for hard disks; this one has rated writes.
        return rows
    rows.append(
        (
            "class of hard disks that is enough",
            "none of the usual ones" if enough is None else f"{bytes_text(enough)} a year",
        )
    )
    return rows


def _from_to(band: Band) -> str:
    return f"from {bytes_text(band.low)} to {bytes_text(band.high)}"


def _verdict(life: Life) -> str:
    """The answer in one line."""
    years = life.years
    if years is None:
        written = f"{life.written_a_year.likely / TB:.1f} TB are written in a year"
        return f"{written}; no rated writes were given"
    span = f"from {_years(years.low)} to {_years(years.high)}"
    return f"the rated writes last {_years(years.likely)} years from now on ({span})"


def _years(years: float) -> str:
    return f"more than {FOREVER_YEARS:.0f}" if years >= FOREVER_YEARS else f"{years:.1f}"
