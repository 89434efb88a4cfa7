"""`asfound drive`: how long drives last, whether they are sound, where each is and with whom."""

from __future__ import annotations

import typer

from asfound.cli.drive_health import health_command
from asfound.cli.drive_life import life_command
from asfound.cli.drive_moves import (
    fitted_command,
    found_command,
    hand_command,
    judged_command,
    pulled_command,
    put_command,
    retire_command,
    wiped_command,
)
from asfound.cli.drive_register import (
    findings_command,
    label_command,
    list_command,
    register_command,
    show_command,
)
from asfound.cli.drive_test import try_command


def register(app: typer.Typer) -> None:
    """Adds the commands."""
    group = typer.Typer(
        no_args_is_help=True,
        help="Drives: how long they last, whether they are sound, where each is and with whom.",
    )
    group.command(name="life")(life_command)
    group.command(name="health")(health_command)
    group.command(name="test")(try_command)
    group.command(name="register")(register_command)
    group.command(name="list")(list_command)
    group.command(name="show")(show_command)
    group.command(name="findings")(findings_command)
    group.command(name="fitted")(fitted_command)
    group.command(name="pulled")(pulled_command)
    group.command(name="hand")(hand_command)
    group.command(name="put")(put_command)
    group.command(name="found")(found_command)
    group.command(name="judged")(judged_command)
    group.command(name="wiped")(wiped_command)
    group.command(name="retire")(retire_command)
    group.command(name="label")(label_command)
    app.add_typer(group, name="drive")
