"""`asfound rollout`: new firmware over a fleet in waves, and what it changes beforehand."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from datetime import datetime, time
from pathlib import Path
from typing import Annotated

import typer

from asfound.cli import output, wiring
from asfound.cli.home import (
    CATALOGUE,
    STORE_VARIABLE,
    Home,
    HomeBooks,
    HomeOption,
    home_at,
)
from asfound.cli.rollout_show import (
    FORMAT,
    changes_data,
    show_changes,
    show_status,
    status_data,
)
from asfound.errors import ExitCode, InputError
from asfound.jobs.firmware_rules import hardware_known, not_in_catalogue
from asfound.jobs.rollout_changes import Agreed, RolloutChanges, rollout_changes
from asfound.jobs.rollout_gather import (
    agreed_of_classes,
    agreed_of_vehicle,
    rollout_numbers,
)
from asfound.jobs.rollout_status import RolloutStatus, rollout_status
from asfound.jobs.rollout_visits import rollout_visits
from asfound.model.menu_map import MenuMap
from asfound.model.rollout import Decision
from asfound.model.visit import VisitState
from asfound.ports.backends.rollout_toml import load_rollout

JsonOption = Annotated[bool, typer.Option("--json", help=f"Print {FORMAT}.")]


def register(app: typer.Typer) -> None:
    """Adds the commands."""
    group = typer.Typer(no_args_is_help=True, help="New firmware over a fleet in waves.")
    group.command(name="status")(status_command)
    group.command(name="changes")(changes_command)
    app.add_typer(group, name="rollout")


def status_command(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Rollout file.")],
    home: HomeOption = None,
    json: JsonOption = False,
) -> None:
    """Who is on what, what the stop rule says, and which vehicles are next.

    Exit code 0: go on; 1: hold, stop, or it could not be told.
    """
    rollout, place = load_rollout(file), home_at(home)
    kept = HomeBooks(place).catalogue()
    catalogue = kept[0] if kept else None
    if catalogue is not None and (lacks := not_in_catalogue(rollout, catalogue)):
        raise InputError(f"{file}: target: {lacks}; correct the rollout, or {CATALOGUE}")
    fleet, zone = place.fleet(), place.zone()
    start = datetime.combine(rollout.started_on, time.min, zone)
    standing = rollout_status(
        RolloutStatus(
            rollout,
            fleet,
            place.menu_map(rollout.map_id),
            _visits(place, rollout_numbers(rollout, fleet), start),
            start,
            wiring.clock().now(),
            hardware_known(catalogue),
        )
    )
    if json:
        output.json_out(status_data(rollout, standing))
    else:
        show_status(rollout, standing, zone)
        if catalogue is None:
            output.say(
                "no firmware catalogue here: whether there is such an image was not looked at"
            )
    if standing.decision is not Decision.GO_ON:
        raise typer.Exit(ExitCode.FINDINGS)


def changes_command(
    map_name: Annotated[str, typer.Option("--map", metavar="MAP", help="Menu map, id or file.")],
    old: Annotated[str, typer.Option("--from", metavar="V", help="The installed version.")],
    new: Annotated[str, typer.Option("--to", metavar="V", help="The new version.")],
    vehicle: Annotated[
        str, typer.Option(help="A vehicle: its agreed values and those last left.")
    ] = "",
    home: HomeOption = None,
    json: JsonOption = False,
) -> None:
    """What a new version changes in the settings, and which agreed values that concerns.

    Without --vehicle, the agreed values of every class of the home folder's fleet, if it has one.
    Exit code 0: nothing changes; 1: something does.
    """
    menu_map, place = wiring.menu_map(map_name), home_at(home)
    who = _agreed(place, menu_map, vehicle)
    made = rollout_changes(RolloutChanges(menu_map, old, new, who))
    if json:
        output.json_out(changes_data(menu_map, old, new, made))
    else:
        show_changes(menu_map, made, [one.name for one in who])
    if made.fields or made.agreed:
        raise typer.Exit(ExitCode.FINDINGS)


def _visits(
    place: Home, numbers: tuple[str, ...], start: datetime
) -> Mapping[str, Sequence[VisitState]]:
    """Visits since ``start`` and the last one, by vehicle; none while no visit was ever opened
    here, so that asking makes no database."""
    if STORE_VARIABLE not in os.environ and not (place.path / "asfound.db").exists():
        return {}
    return rollout_visits(numbers, start, store=place.store(), blobs=place.blobs())


def _agreed(place: Home, menu_map: MenuMap, vehicle: str) -> tuple[Agreed, ...]:
    if not vehicle:
        known = (place.path / "fleet.toml").exists()
        return agreed_of_classes(place.fleet(), menu_map) if known else ()
    fleet = place.fleet()
    fitted = fleet.vehicle(vehicle)
    visits = _visits(place, (fitted.number,), wiring.clock().now()).get(fitted.number)
    return (agreed_of_vehicle(fleet, fitted, menu_map, visits[0] if visits else None),)
