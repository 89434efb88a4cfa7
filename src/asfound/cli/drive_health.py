"""`asfound drive health`: whether a drive may go in, from what it reports of itself."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from asfound.calc.smart_counts import used_percent
from asfound.calc.smart_json import MOST_BYTES, read_smart
from asfound.cli import output, wiring
from asfound.errors import AsfoundError, ExitCode, InputError, NotFound
from asfound.jobs.drive_data import health_data
from asfound.jobs.drive_health import NO_PROOF, Health, HealthVerdict, drive_health
from asfound.jobs.drive_health_common import heat_limit, highest_celsius
from asfound.model.drive_check import DriveFinding
from asfound.model.smart import SmartReport
from asfound.ports.backends.disk import storage_error
from asfound.units import TB, bytes_text

FORMAT = "asfound-drive-health/1"
SAID = {
    HealthVerdict.GOOD: "good: nothing that speaks against it",
    HealthVerdict.SUSPECT: "suspect: do not fit it",
    HealthVerdict.FAILING: "failing: do not fit it, copy what is needed from it",
    HealthVerdict.COULD_NOT_TELL: "could not tell: do not take it for good",
}
STDIN = "-"


def health_command(
    reports: Annotated[
        list[str],
        typer.Argument(metavar="SMART.json…", help="What `smartctl --json -x` wrote; -: stdin."),
    ],
    json: Annotated[bool, typer.Option("--json", help=f"Print {FORMAT}.")] = False,
) -> None:
    """Say of each drive whether it is good, suspect or failing, and why.

    Exit code 0: all are good and nothing is to be noted; 1: something is, or it cannot be told.
    """
    judged: list[tuple[str, SmartReport, Health]] = []
    faults: list[AsfoundError] = []
    for name in reports:
        try:
            report = load_report(name)
        except (InputError, NotFound) as error:
            faults.append(error)
        else:
            judged.append((name, report, drive_health(report, wiring.clock().now())))
    if json and judged:
        output.json_out(
            {
                "format": FORMAT,
                "no_proof": NO_PROOF,
                "drives": [
                    {"file": name, **health_data(report, health)} for name, report, health in judged
                ],
            }
        )
    else:
        for name, report, health in judged:
            _show(name, report, health)
        if judged:
            output.say(f"note: {NO_PROOF}")
    for fault in faults[:-1]:
        output.warn(f"asfound: {fault}")
    if faults:
        raise faults[-1]
    if any(health.verdict != HealthVerdict.GOOD or health.findings for _, _, health in judged):
        raise typer.Exit(ExitCode.FINDINGS)


def load_report(name: str) -> SmartReport:
    """The report in a file, or on stdin. Raises NotFound, InputError, StorageError."""
    try:
        if name == STDIN:
            data = sys.stdin.buffer.read(MOST_BYTES + 1)
        else:
            with Path(name).open("rb") as file:
                data = file.read(MOST_BYTES + 1)
    except (FileNotFoundError, IsADirectoryError):
        raise NotFound(
            f"{name}: no such file; write one with `smartctl --json -x DEVICE`"
        ) from None
    except OSError as error:
        raise storage_error(error, Path(name)) from None
    try:
        return read_smart(data)
    except InputError as error:
        raise InputError(f"{name}: {error}") from None


def _show(name: str, report: SmartReport, health: Health) -> None:
    output.table(("", ""), _facts(report, health), title=name)
    output.say(f"{SAID[health.verdict]}", style="bold")
    show_findings(health.findings)
    for line in health.unclear:
        output.say(f"could not tell: {line}")


def _facts(report: SmartReport, health: Health) -> list[tuple[str, str]]:
    """What is known of the drive, as rows of a table; what is not said has none."""
    limit, highest, used = heat_limit(report), highest_celsius(report), used_percent(report)
    hours, written = report.power_on_hours, health.written
    kinds = {True: "hard disk", False: "no motor (flash)", None: ""}
    said = (
        ("model", report.model),
        ("serial number", report.serial),
        ("firmware", report.firmware),
        ("kind", kinds[report.turns]),
        ("size", "" if report.capacity is None else bytes_text(report.capacity)),
        ("read", "" if report.taken is None else f"{report.taken:%Y-%m-%d %H:%M} UTC"),
        ("power-on hours", "" if hours is None else f"{hours} ({hours / 8760:.1f} years)"),
        ("power cycles", "" if report.power_cycles is None else str(report.power_cycles)),
        ("temperature", "" if report.celsius is None else f"{report.celsius} °C"),
        ("hottest so far", "" if highest is None else f"{highest} °C"),
        ("made for up to", f"{limit.value:g} °C ({limit.source.cite()})"),
        ("written so far", "" if written is None else f"{written / TB:.1f} TB"),
        ("rated endurance used", "" if used is None else f"{used} %"),
    )
    return [(name, text) for name, text in said if text]


def show_findings(findings: tuple[DriveFinding, ...]) -> None:
    """A line for each: weight, kind, words, limit and its source."""
    for one in findings:
        limit = "" if one.limit is None else f"limit {_figure(one.limit, one.unit)}, "
        output.say(f"{one.weight}: {one.kind}: {one.note} ({limit}{one.source})")


def _figure(limit: float, unit: str) -> str:
    if unit == "bytes" and limit:
        return bytes_text(limit)
    return f"{limit:g}" if unit == "1" else f"{limit:g} {unit}"
