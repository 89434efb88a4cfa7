"""`asfound fleet`: the vehicles, what is known of one, and whether the fleet file is right."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from asfound.calc.fleet_faults import fleet_faults
from asfound.cli import output
from asfound.cli.fleet_vehicle import changes_command, place_command
from asfound.cli.home import HomeOption, home_at
from asfound.errors import InputError
from asfound.ports.backends.fleet_toml import load_fleet
from asfound.ports.documents import to_data


def register(app: typer.Typer) -> None:
    """Adds the commands."""
    group = typer.Typer(no_args_is_help=True, help="Vehicles and the fleet file.")
    group.command(name="list")(list_command)
    group.command(name="check")(check_command)
    group.command(name="place")(place_command)
    group.command(name="changes")(changes_command)
    app.add_typer(group, name="fleet")


def list_command(
    home: HomeOption = None,
    json: Annotated[bool, typer.Option("--json", help="Print the whole fleet as JSON.")] = False,
) -> None:
    """Vehicles of the fleet, and whose footage is held."""
    place = home_at(home)
    fleet = place.fleet()
    if json:
        output.json_out(to_data(fleet))
        return
    held = {hold.vehicle for hold in place.store().holds() if hold.active}
    rows = [
        (
            vehicle.number,
            vehicle.plate,
            vehicle.kind,
            vehicle.depot,
            vehicle.vehicle_class,
            vehicle.recorder.map_id,
            vehicle.recorder.firmware,
            str(len(vehicle.cameras)),
            "held" if vehicle.number in held else "",
        )
        for vehicle in fleet.vehicles
    ]
    columns = ["number", "plate", "kind", "depot", "class", "recorder", "firmware", "cameras"]
    if held:
        columns.append("footage")
    shown = [row[: len(columns)] for row in rows]
    output.table(columns, shown, title=fleet.name, right=(7,))


def check_command(
    file: Annotated[
        Path | None, typer.Argument(metavar="FILE", help="Fleet file; else the home folder's.")
    ] = None,
    home: HomeOption = None,
) -> None:
    """Check a fleet file: its form, and its settings against the menu maps."""
    place = home_at(home)
    fleet = place.fleet() if file is None else load_fleet(file)
    wanted = {vehicle.recorder.map_id for vehicle in fleet.vehicles}
    wanted |= {standard.map_id for standard in fleet.standards}
    known = place.map_paths()
    maps = {name: place.menu_map(name) for name in sorted(wanted & set(known))}
    faults = fleet_faults(fleet, maps)
    for fault in faults:
        output.say(fault)
    if faults:
        where = file or place.path / "fleet.toml"
        count = _count(len(faults), "fault")
        raise InputError(f"{where}: {count}, listed above; mend the file and check it again")
    vehicles = _count(len(fleet.vehicles), "vehicle")
    standards = _count(len(fleet.standards), "standard")
    output.say(f"{fleet.name}: {vehicles}, {standards}, nothing wrong")


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"
