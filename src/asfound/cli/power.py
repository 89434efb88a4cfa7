"""`asfound power`: a parked vehicle's battery, starts of the engine, measured voltages."""

from __future__ import annotations

import typer

from asfound.cli import power_crank, power_parked, power_volts


def register(app: typer.Typer) -> None:
    """Adds the group."""
    group = typer.Typer(
        no_args_is_help=True,
        help="A recorder's supply: parked battery, starts of the engine, measured voltages.",
    )
    for module in (power_parked, power_crank, power_volts):
        module.register(group)
    app.add_typer(group, name="power")
