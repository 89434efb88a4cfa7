"""`asfound speed`: speed triggers and the wheel-pulse constant, from logs."""

from __future__ import annotations

import typer

from asfound.cli.speed_over import over_command
from asfound.cli.speed_pulses import pulses_command


def register(app: typer.Typer) -> None:
    """Adds the commands."""
    group = typer.Typer(no_args_is_help=True, help="Speed triggers and wheel pulses, from logs.")
    group.command(name="over")(over_command)
    group.command(name="pulses")(pulses_command)
    app.add_typer(group, name="speed")
