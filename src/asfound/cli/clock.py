"""`asfound clock`: drift, zone, and offset by two logs."""

from __future__ import annotations

import typer

from asfound.cli.clock_drift import drift_command
from asfound.cli.clock_match import match_command
from asfound.cli.clock_zone import zone_command


def register(app: typer.Typer) -> None:
    """Adds the commands."""
    group = typer.Typer(no_args_is_help=True, help="Clocks: drift, zone, offset by two logs.")
    group.command(name="drift")(drift_command)
    group.command(name="zone")(zone_command)
    group.command(name="match")(match_command)
    app.add_typer(group, name="clock")
