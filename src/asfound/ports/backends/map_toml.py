"""Menu maps from TOML files, checked whole before anybody relies on them."""

from __future__ import annotations

import json
from pathlib import Path

from asfound.errors import MapError
from asfound.model.kinds import (
    Choice,
    Date,
    FieldType,
    Host,
    IPv4,
    Level,
    Number,
    ReadOnly,
    Secret,
    Switch,
    Text,
    Time,
)
from asfound.model.menu_map import Field, FirmwarePlace, Keyboard, Keys, MenuMap, Page
from asfound.ports.backends import map_file as file
from asfound.ports.backends.map_checks import Placed, check_map
from asfound.ports.backends.toml_checked import load_checked
from asfound.ports.backends.toml_lines import Place

SHIPPED = Path(__file__).parents[2] / "data" / "maps"
"""Folder of the menu maps that come with the package."""


def shipped_map_paths() -> dict[str, Path]:
    """Menu maps that come with the package: id -> file (the file is named after the id)."""
    return {path.stem: path for path in sorted(SHIPPED.glob("*.toml"))}


def load_map(path: Path) -> MenuMap:
    """The menu map in ``path``. Raises NotFound, StorageError, MapError (every fault told)."""
    loaded = load_checked(path, file.MapFile, MapError)
    placed = _placed(loaded.value)
    place = loaded.value.firmware_file
    menu_map = MenuMap(
        id=loaded.value.id,
        maker=loaded.value.maker,
        model=loaded.value.model,
        cameras=loaded.value.cameras,
        firmware=tuple(loaded.value.firmware),
        pages=tuple(page for page, _ in placed.pages),
        keys=keys_of(loaded.value.keys),
        firmware_file=None if place is None else FirmwarePlace(place.folder, place.pattern),
    )
    check_map(menu_map, placed, loaded.value, loaded.faults)
    loaded.faults.raise_if_any()
    return menu_map


def map_schema() -> str:
    """The JSON Schema (2020-12) of a menu map file, as text that ends with a newline."""
    schema = file.MapFile.model_json_schema()
    head = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": "urn:asfound:menu-map:1",
    }
    return json.dumps(head | schema, indent=2, ensure_ascii=False) + "\n"


def _placed(map_file: file.MapFile) -> Placed:
    """Pages and fields with their places in the file; camera pages are repeated."""
    placed = Placed([], [])
    for number, table in enumerate(map_file.page):
        place: Place = ("page", number)
        cameras = range(1, map_file.cameras + 1) if table.for_each_camera else (None,)
        for camera in cameras:
            fields: list[Field] = []
            for row, entry in enumerate(table.field):
                fields.append(field_of(entry, camera))
                placed.fields.append((fields[-1], (*place, "field", row)))
            page = Page(
                _numbered(table.id, camera),
                _numbered(table.title, camera),
                tuple(fields),
                None if table.group is None else _numbered(table.group, camera),
            )
            placed.pages.append((page, place))
    return placed


def _numbered(text: str, camera: int | None) -> str:
    return text if camera is None else text.replace("{n}", str(camera))


def field_of(table: file.FieldTable, camera: int | None) -> Field:
    """The row as the file has it; with ``camera`` its number stands for ``{n}``."""
    return Field(
        id=_numbered(table.id, camera),
        label=_numbered(table.label, camera),
        type=_kind(table),
        default=None if table.default is None else _numbered(table.default, camera),
        defaults=tuple((version, _numbered(v, camera)) for version, v in table.defaults.items()),
        since=table.since,
        until=table.until,
        was=None if table.was is None else _numbered(table.was, camera),
        means=table.means,
        camera=table.camera if camera is None else camera,
        volatile=table.volatile,
        drafted=tuple(table.drafted),
        check=table.check,
        seen=tuple(table.seen.items()),
    )


def _kind(table: file.FieldTable) -> FieldType:  # noqa: C901 (one plain case for each type)
    match table:
        case file.ChoiceTable():
            return Choice(tuple(table.options), tuple(table.amounts.items()))
        case file.SwitchTable():
            return Switch(table.on, table.off)
        case file.NumberTable():
            words = tuple(table.words)
            step = (table.minimum, table.maximum, table.step)
            return Number(*step, table.decimals, table.unit, words)
        case file.LevelTable():
            return Level(table.minimum, table.maximum)
        case file.TimeTable():
            return Time(table.seconds)
        case file.DateTable():
            return Date(table.layout)
        case file.IPv4Table():
            return IPv4(table.padded)
        case file.HostTable():
            return Host(table.max_length)
        case file.TextTable():
            return Text(table.max_length, table.alphabet)
        case file.SecretTable():
            return Secret(table.max_length, table.mask)
        case file.ReadOnlyTable():
            return ReadOnly(table.what)


def keys_of(table: file.KeysTable) -> Keys:
    """The keys as the file has them."""
    values = {name: getattr(table, name) for name in type(table).model_fields}
    keyboard = table.keyboard
    values["keyboard"] = keyboard and Keyboard(
        rows=tuple(tuple(row) for row in keyboard.rows),
        wrap=keyboard.wrap,
        start=(keyboard.start[0], keyboard.start[1]),
        opens_empty=keyboard.opens_empty,
    )
    return Keys(**values)
