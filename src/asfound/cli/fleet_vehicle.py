"""`asfound fleet place|changes`: where a recorder sits, and which of its settings changed when."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from asfound.cli import output, wiring
from asfound.cli.home import HomeOption, home_at
from asfound.cli.visit_show import time_text, value_text
from asfound.errors import NotFound
from asfound.jobs.place_picture import TakePlacePicture, place_picture, take_place_picture
from asfound.jobs.settings_history import Moment, settings_history
from asfound.model.menu_map import MenuMap
from asfound.model.visit_line import LineQuery
from asfound.ports.backends.disk import storage_error
from asfound.ports.documents import to_data

VehicleArgument = Annotated[str, typer.Argument(metavar="VEHICLE", help="Fleet number or plate.")]
MOMENTS = {
    Moment.VISIT: "in the visit",
    Moment.BETWEEN: "between the visits",
    Moment.EITHER: "not read as found",
}
LAST = 20
"""Closed visits that are looked at, unless more are asked for."""


def place_command(
    vehicle: VehicleArgument,
    photo: Annotated[
        Path | None, typer.Argument(metavar="PHOTO", help="A photograph of the place, to keep.")
    ] = None,
    by: Annotated[
        str, typer.Option("--by", envvar="ASFOUND_BY", metavar="NAME", help="Who adds it.")
    ] = "",
    home: HomeOption = None,
) -> None:
    """Where the recorder sits; with a photograph, keep it in front of an earlier one."""
    place = home_at(home)
    found, desk = place.fleet().vehicle(vehicle), place.desk()
    output.say(f"vehicle {found.number} ({found.plate}): {found.recorder.place}")
    if photo is not None:
        request = TakePlacePicture(found, _bytes(photo), photo.name, by)
        take_place_picture(request, desk=desk, pictures=wiring.pictures())
    known = place_picture(found, store=desk.store)
    if known is None:
        output.say("no photograph of the place; asfound fleet place VEHICLE PHOTO --by NAME")
        return
    at = time_text(known.at, place.zone())
    output.say(f"photograph by {known.by}, {at}: {desk.blobs.path(known.picture)}")


def changes_command(
    vehicle: VehicleArgument,
    visits: Annotated[
        int, typer.Option(min=1, max=1000, help="How many closed visits to look at.")
    ] = LAST,
    json: Annotated[bool, typer.Option("--json", help="Print the history as JSON.")] = False,
    home: HomeOption = None,
) -> None:
    """Which settings changed when, by what closed visits found and left, newest first."""
    place = home_at(home)
    found, store = place.fleet().vehicle(vehicle), place.store()
    menu_map = place.menu_map(found.recorder.map_id)
    lines = store.lines(LineQuery((found.number,), True, visits))
    states = [place.visit(line.id) for line in lines]
    states.sort(key=lambda state: state.closed_at or state.opened_at)
    fields = (field for page in menu_map.pages for field in page.fields)
    made = settings_history(states, {field.id for field in fields if not field.settable})[::-1]
    if json:
        output.json_out([to_data(item) for item in made])
        return
    rows = [
        (
            item.visit,
            time_text(item.at, place.zone()) if item.at is not None else "",
            change.label,
            _value(menu_map, change.field, change.before),
            _value(menu_map, change.field, change.after),
            MOMENTS[change.moment],
        )
        for item in made
        for change in item.changes
    ]
    if rows:
        output.table(("visit", "closed", "setting", "was", "became", "when"), rows)
    read = sum(item.read for item in made)
    output.say(f"{output.count(len(made), 'closed visit')}, {read} with settings read as left")


def _bytes(photo: Path) -> bytes:
    try:
        return photo.read_bytes()
    except FileNotFoundError:
        raise NotFound(f"{photo}: no such file; check the path") from None
    except OSError as error:
        raise storage_error(error, photo) from None


def _value(menu_map: MenuMap, field: str, value: str) -> str:
    try:
        return value_text(menu_map, field, value)
    except NotFound:
        # The map was changed since: the value is still what was read.
        return value
