"""`asfound compare`: the settings as left against the target."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from rich.text import Text

from asfound.cli import output, wiring
from asfound.cli.settings_file import load_reading, load_values
from asfound.errors import ExitCode
from asfound.jobs.build_target import BuildTarget, build_target
from asfound.jobs.compare import Compare, compare
from asfound.model.difference import OPEN, Difference, Verdict
from asfound.model.fleet import Standard
from asfound.ports.documents import to_data

STYLES = {
    Verdict.MISSED: "bold red",
    Verdict.WRONG: "bold red",
    Verdict.EXTRA: "red",
    Verdict.DOUBT: "bold yellow",
}


def register(app: typer.Typer) -> None:
    """Adds the command."""
    app.command(name="compare")(compare_command)


def compare_command(
    map_name: Annotated[str, typer.Option("--map", metavar="MAP", help="Menu map, id or file.")],
    firmware: Annotated[str, typer.Option(metavar="V", help="Installed firmware.")],
    target: Annotated[Path, typer.Option(metavar="JSON", help="Values by field id, or a reading.")],
    as_left: Annotated[Path, typer.Option(metavar="JSON", help="What was read after re-keying.")],
    json: Annotated[bool, typer.Option("--json", help="Print every field as JSON.")] = False,
) -> None:
    """Which settings were missed, are wrong, extra or doubtful.

    Exit code 0: all as the target says; 1: something is left to do.
    """
    menu_map = wiring.menu_map(map_name)
    values = load_values(target, menu_map, firmware)
    settings = {name: value for name, value in values.items() if menu_map.field(name).settable}
    standard = Standard(menu_map.id, {}, {})
    wanted = build_target(BuildTarget(menu_map, firmware, standard, as_found=settings))
    reading = load_reading(as_left, menu_map, firmware)
    difference = compare(Compare(menu_map, firmware, wanted, reading))
    if json:
        counts = {verdict.value: count for verdict, count in difference.counts().items()}
        output.json_out(to_data(difference) | {"counts": counts})
    else:
        show(difference)
    if difference.open_items():
        raise typer.Exit(ExitCode.FINDINGS)


def show(difference: Difference) -> None:
    """What is left to do as a table, and the number of fields with each verdict."""
    rows = [
        (
            Text(item.verdict.value, style=STYLES.get(item.verdict, "")),
            item.id,
            item.label,
            _value(item.target),
            _value(item.as_left),
            _value(item.default),
        )
        for item in difference.open_items()
    ]
    if rows:
        columns = ("verdict", "field", "label", "should be", "is", "factory")
        output.table(columns, rows)
    counts = difference.counts()
    parts = [f"{count} {verdict.value}" for verdict, count in counts.items() if count]
    whole = sum(counts.values())
    left = sum(counts[verdict] for verdict in OPEN)
    done = "nothing left to do" if not left else f"{left} left to do"
    output.say(f"{whole} fields: {', '.join(parts)}; {done}")


def _value(value: str | None) -> str:
    return "?" if value is None else value or "(empty)"
