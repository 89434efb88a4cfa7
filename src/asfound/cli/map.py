"""`asfound map`: menu maps, checked and shown."""

from __future__ import annotations

from collections import Counter
from typing import Annotated

import typer

from asfound.cli import output, wiring
from asfound.model.kinds import Choice, Level, Number, Secret, Switch, Text
from asfound.model.menu_map import Field, MenuMap
from asfound.ports.backends.map_toml import load_map, map_schema, shipped_map_paths

MapName = Annotated[str, typer.Argument(metavar="MAP", help="A TOML file, or a shipped map's id.")]


def register(app: typer.Typer) -> None:
    """Adds the commands."""
    group = typer.Typer(no_args_is_help=True, help="Menu maps: one recorder model's menu each.")
    group.command(name="check")(check_command)
    group.command(name="list")(list_command)
    group.command(name="show")(show_command)
    group.command(name="schema")(schema_command)
    app.add_typer(group, name="map")


def check_command(name: MapName) -> None:
    """Check a menu map: every fault is told with its line."""
    menu_map = wiring.menu_map(name)
    kinds = Counter(field.type.kind for field in menu_map.fields)
    output.say(
        f"OK: {menu_map.id}: {len(menu_map.firmware)} firmware versions, "
        f"{len(menu_map.pages)} pages, {len(menu_map.fields)} fields "
        f"({', '.join(f'{count} {kind}' for kind, count in kinds.most_common())})"
    )
    unknown = [
        field.id
        for field in menu_map.fields
        if field.settable and field.default is None and not field.defaults
    ]
    if unknown:
        output.say(
            f"note: the factory value of {len(unknown)} settings is not given, so that they are "
            f"set by hand: {', '.join(unknown)}"
        )


def list_command() -> None:
    """The menu maps that come with asfound."""
    rows = []
    for path in shipped_map_paths().values():
        menu_map = load_map(path)
        versions = ", ".join(menu_map.firmware)
        name = f"{menu_map.maker} {menu_map.model}"
        rows.append((menu_map.id, name, str(menu_map.cameras), versions, str(len(menu_map.fields))))
    output.table(("id", "recorder", "cameras", "firmware", "fields"), rows, right=(2, 4))


def show_command(
    name: MapName,
    firmware: Annotated[
        str | None, typer.Option(metavar="V", help="Only what this version has; else the newest.")
    ] = None,
) -> None:
    """Every page and field of a recorder, with factory values."""
    menu_map = wiring.menu_map(name)
    version = firmware or menu_map.firmware[-1]
    rows: list[tuple[str, ...]] = []
    for page in menu_map.pages:
        title = f"{page.group}: {page.title}" if page.group else page.title
        for field in menu_map.page_fields(page, version):
            rows.append((title, *_row(menu_map, field, version)))
            title = ""
    columns = ("page", "field", "label", "type", "factory value")
    recorder = f"{menu_map.maker} {menu_map.model}"
    output.table(columns, rows, title=f"{menu_map.id}: {recorder}, firmware {version}")
    output.say(f"{len(rows)} fields; firmware versions: {', '.join(menu_map.firmware)}")


def schema_command() -> None:
    """The JSON Schema of a menu map file."""
    output.raw(map_schema())


def _row(menu_map: MenuMap, field: Field, firmware: str) -> tuple[str, ...]:
    default = menu_map.default(field, firmware)
    value = "" if default is None else default or "(empty)"
    return field.id, field.label, _type(field), value


def _type(field: Field) -> str:
    kind = field.type
    match kind:
        case Choice():
            text = " | ".join(kind.options)
        case Switch():
            text = f"{kind.off} | {kind.on}"
        case Number():
            words = "".join(f"{word} | " for word in kind.words)
            step = "" if kind.step == 1 else f" step {kind.step}"
            text = f"{words}{kind.minimum} to {kind.maximum}{step} {kind.unit}".rstrip()
        case Level():
            text = f"{kind.minimum} to {kind.maximum}"
        case Text() | Secret():
            text = f"{kind.kind}, up to {kind.max_length}"
        case _:
            text = kind.kind
    return f"{text} (runs by itself)" if field.volatile else text
