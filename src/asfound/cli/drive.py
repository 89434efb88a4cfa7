"""`asfound drive`: drives before they go in and while they are out: life, health, capacity."""

from __future__ import annotations

import typer

from asfound.cli.drive_health import health_command
from asfound.cli.drive_life import life_command
from asfound.cli.drive_test import try_command


def register(app: typer.Typer) -> None:
    """Adds the commands."""
    group = typer.Typer(
        no_args_is_help=True, help="Drives: how long they last, whether they are sound."
    )
    group.command(name="life")(life_command)
    group.command(name="health")(health_command)
    group.command(name="test")(try_command)
    app.add_typer(group, name="drive")
