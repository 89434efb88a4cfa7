"""Settings that a command is given as JSON: values by field id, or a reading.

Three forms are taken: ``{"field.id": "value", ...}``; ``asfound-reading/1``, as `asfound read`
prints it with --json; and a whole Reading document. A value that is not certain stays a doubt.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, ValidationError

from asfound.calc.open_values import value_problem
from asfound.errors import InputError, NotFound, StorageError, UsageError
from asfound.model.menu_map import MenuMap
from asfound.model.reading import FieldReading, Reading, State
from asfound.ports.documents import from_data

READING_FORMAT = "asfound-reading/1"

MAX_BYTES = 64 * 1024 * 1024
"""Larger files are refused: a reading of 100 photographs takes about 2 MB."""


class _Seen(BaseModel):
    """One field in one photograph; what else the file says of it is passed over."""

    model_config = ConfigDict(strict=True)

    id: str
    value: str | None = None
    state: State
    candidates: list[str] = []


class _Photo(BaseModel):
    model_config = ConfigDict(strict=True)

    file: str = ""
    fields: list[_Seen]


class _Read(BaseModel):
    """``fields``, where there are any, are already laid together from all photographs."""

    model_config = ConfigDict(strict=True)

    map: str | None = None
    firmware: str | None = None
    photos: list[_Photo] = []
    fields: list[_Seen] | None = None


def load_values(path: Path, menu_map: MenuMap, firmware: str) -> dict[str, str]:
    """Certain canonical values by field id, of ``firmware``.

    Raises NotFound, InputError, StorageError, UsageError (read from other firmware).
    """
    data = _json(path)
    if isinstance(data, dict) and not _is_reading(data):
        return _plain(path, data, menu_map)
    reading = load_reading(path, menu_map, firmware)
    if reading.firmware != firmware:
        raise UsageError(
            f"{path}: read from firmware {reading.firmware}, not {firmware}; name the version the "
            "values come from"
        )
    return reading.sure_values()


def load_reading(path: Path, menu_map: MenuMap, firmware: str) -> Reading:
    """The reading in ``path``, all fields of ``firmware`` accounted for.

    Raises NotFound, InputError, StorageError.
    """
    data = _json(path)
    if isinstance(data, dict) and "map_id" in data:
        reading = from_data(Reading, data, str(path))
        _same_map(path, reading.map_id, menu_map)
        _check(path, _certain(reading.fields), menu_map)
        return reading
    if isinstance(data, dict) and not _is_reading(data):
        values = _plain(path, data, menu_map)
        seen = [_Seen(id=name, value=value, state=State.SURE) for name, value in values.items()]
        return _reading(seen, menu_map, firmware)
    try:
        made = _Read.model_validate_json(json.dumps(data))
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        place = ".".join(str(part) for part in first["loc"]) or "file"
        raise InputError(
            f"{path}: {place}: {first['msg']}; give {READING_FORMAT} or values by field id"
        ) from None
    _same_map(path, made.map or menu_map.id, menu_map)
    seen = [item for photo in made.photos for item in photo.fields]
    seen = seen if made.fields is None else made.fields
    for item in seen:
        _check(path, _certain([item]), menu_map)
    return _reading(seen, menu_map, made.firmware or firmware)


def _certain(fields: Iterable[_Seen | FieldReading]) -> dict[str, str | None]:
    """Ids with the values to hold against the map: a doubt's is only what was seen, such as an
    option that a drafted map does not list."""
    return {item.id: item.value if item.state is State.SURE else None for item in fields}


def _same_map(path: Path, map_id: str, menu_map: MenuMap) -> None:
    if map_id != menu_map.id:
        raise InputError(f"{path}: read with menu map {map_id}, not {menu_map.id}; name that map")


def _is_reading(data: dict[str, Any]) -> bool:
    return bool({"photos", "map_id", "format"} & set(data))


def _json(path: Path) -> object:
    try:
        if path.exists() and not path.is_file() and not path.is_dir():
            raise InputError(f"{path}: not a file; name the JSON file")
        if path.stat().st_size > MAX_BYTES:
            raise InputError(
                f"{path}: larger than {MAX_BYTES // 1024**2} MiB; this is no such file"
            )
        return json.loads(path.read_text("utf-8"))
    except FileNotFoundError:
        raise NotFound(f"{path}: there is no such file; check the name") from None
    except json.JSONDecodeError as error:
        raise InputError(
            f"{path}:{error.lineno}: not JSON: {error.msg}; mend the file or make it again"
        ) from None
    except RecursionError:
        raise InputError(f"{path}: nested too deeply; settings are a flat list") from None
    except (UnicodeDecodeError, ValueError):
        raise InputError(f"{path}: not JSON text in UTF-8; make the file again") from None
    except OSError as error:
        raise StorageError(f"{path}: cannot be read ({error.strerror}); check the file") from None


def _plain(path: Path, data: dict[str, Any], menu_map: MenuMap) -> dict[str, str]:
    for name, value in data.items():
        if not isinstance(value, str):
            raise InputError(f"{path}: {name!r}: the value must be text in quotes; correct it")
    _check(path, data, menu_map)
    return dict(data)


def _check(path: Path, values: dict[str, str | None], menu_map: MenuMap) -> None:
    for name, value in values.items():
        field = menu_map.field(name)
        if value is not None and (text := value_problem(field.type, field.drafted, value)):
            raise InputError(f"{path}: {name!r}: {text}; correct it")


def _reading(every: list[_Seen], menu_map: MenuMap, firmware: str) -> Reading:
    """Photographs laid together: what one doubts or another contradicts is a doubt."""
    read = [item for item in every if item.state is not State.UNREAD]
    fields: list[FieldReading] = []
    for field in menu_map.fields_in(firmware):
        seen = [item for item in read if item.id == field.id]
        sure = {item.value for item in seen if item.state is State.SURE and item.value is not None}
        agreed = len(sure) == 1 and all(
            sure & {item.value, *item.candidates}
            for item in seen
            if item.state is State.DOUBT and item.candidates
        )
        value = next(iter(sure)) if agreed else None
        state = State.SURE if agreed else State.DOUBT if seen else State.UNREAD
        fields.append(FieldReading(field.id, field.label, "", value, state))
    seen_ids = {item.id for item in read}
    missing = tuple(
        page.id
        for page in menu_map.pages
        if (rows := menu_map.page_fields(page, firmware))
        and not any(row.id in seen_ids for row in rows)
    )
    return Reading(menu_map.id, firmware, (), tuple(fields), missing)
