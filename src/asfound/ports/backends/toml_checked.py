"""Checked TOML: every input file is read here, and every fault is told with file, line and field.

One fault is one line, ``FILE:LINE: FIELD: what is wrong; what to do``. Several are told together: a
first line with their number, then one line each, in the order of the file.
"""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Generic, TypeVar

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from asfound.errors import AsfoundError
from asfound.ports.backends.text_file import TextKind, read_text_file
from asfound.ports.backends.toml_lines import Place, line_index

M = TypeVar("M", bound=BaseModel)

MAX_BYTES = 4 * 1024 * 1024
"""Larger files are refused: a menu map of 1,000 fields takes about 0.2 MB."""

_TOML_LINE = re.compile(r" \(at (?:line (\d+), column \d+|end of document)\)$")


@dataclass
class Faults:
    """Collects what is wrong with one file; places are paths into the parsed document."""

    path: Path
    data: Mapping[str, Any]
    lines: Mapping[Place, int]
    wrong: type[AsfoundError]
    found: list[tuple[int, str]] = field(default_factory=list)

    def add(self, place: Place, text: str) -> None:
        """Note a fault: ``text`` says what is wrong and what to do."""
        line, name = self.line(place), self.name(place)
        self.found.append((line, f"{self.path}:{line}: {name}: {text}"))

    def line(self, place: Place) -> int:
        """The line of ``place``, or of the nearest enclosing thing that stands in the file."""
        while place not in self.lines:
            place = place[:-1]
        return self.lines[place]

    def name(self, place: Place) -> str:
        """``place`` in words: members of lists by their id when they have one, else counted."""
        words, inside = "", self.data
        value: Any = inside
        for part in place:
            value = _below(value, part)
            if isinstance(part, str):
                key = part if part.isidentifier() else repr(part)
                words += f".{key}" if words else key
            elif isinstance(value, Mapping) and isinstance(value.get("id"), str):
                # An id says where we are better than the path that leads there.
                words = f"{words.rpartition('.')[2]} {value['id']!r}"
            else:
                words += f"[{part + 1}]"
        return words or "file"

    def raise_if_any(self) -> None:
        """Raise the file's error class when there are faults."""
        lines = list(dict.fromkeys(text for _, text in sorted(self.found)))
        if len(lines) == 1:
            raise self.wrong(lines[0])
        if lines:
            raise self.wrong("\n".join([f"{self.path}: {len(lines)} faults", *lines]))


@dataclass(frozen=True)
class Loaded(Generic[M]):
    """A checked file, and the collector for faults that only its user can see."""

    value: M
    faults: Faults


def load_toml(path: Path, model: type[M], wrong: type[AsfoundError]) -> M:
    """The file as ``model``. Raises NotFound (no such file), StorageError, and ``wrong``."""
    return load_checked(path, model, wrong).value


def load_checked(
    path: Path, model: type[M], wrong: type[AsfoundError], most: int = MAX_BYTES
) -> Loaded[M]:
    """As ``load_toml``, with the place of everything for further checks; ``most`` bytes."""
    text = read_text_file(path, TextKind("TOML", most, "this is no such file", wrong))
    try:
        data = tomllib.loads(text)
        lines = line_index(text)
    except tomllib.TOMLDecodeError as error:
        raise _syntax(path, text, error, wrong) from None
    except RecursionError:
        raise wrong(f"{path}:1: file: lists nested too deeply; write it flatter") from None
    except ValueError as error:  # a whole number of thousands of digits
        raise wrong(f"{path}:1: file: {_first_line(error)}; shorten that number") from None
    faults = Faults(path, data, lines, wrong)
    try:
        value = model.model_validate(data)
    except ValidationError as error:
        known = _known_keys(model)
        for detail in error.errors(include_url=False):
            faults.add(_place(data, detail["loc"]), _reason(detail, known))
        faults.raise_if_any()
        raise  # unreachable: a validation error has at least one detail
    except RecursionError:
        raise wrong(f"{path}:1: file: tables nested too deeply; write it flatter") from None
    return Loaded(value, faults)


def _syntax(path: Path, text: str, error: ValueError, wrong: type[AsfoundError]) -> AsfoundError:
    message = _first_line(error)
    match = _TOML_LINE.search(message)
    line = int(match[1]) if match and match[1] else text.count("\n") + 1
    what = _TOML_LINE.sub("", message)
    return wrong(f"{path}:{line}: file: not valid TOML: {what}; mend the text near this line")


def _first_line(error: Exception) -> str:
    return " ".join(str(error).split())


def _below(value: Any, part: str | int) -> Any:
    if isinstance(part, int):
        inside = isinstance(value, list) and 0 <= part < len(value)
        return value[part] if inside else None
    return value.get(part) if isinstance(value, Mapping) else None


def _place(data: Mapping[str, Any], loc: tuple[str | int, ...]) -> Place:
    """A validation path as a path into the document: names of union members fall out."""
    place: list[str | int] = []
    value: Any = data
    for number, part in enumerate(loc):
        below = _below(value, part)
        if below is None and number < len(loc) - 1:
            continue
        place.append(part)
        value = below
    return tuple(place)


def _known_keys(model: type[BaseModel]) -> tuple[str, ...]:
    schema = model.model_json_schema()
    parts = [schema, *schema.get("$defs", {}).values()]
    return tuple(dict.fromkeys(key for part in parts for key in part.get("properties", {})))


_TYPES = {
    "string_type": "text in quotes",
    "int_type": "a whole number",
    "bool_type": "true or false, without quotes",
    "float_type": "a number",
    "decimal_type": "a number",
    "list_type": "a list in [ ]",
    "dict_type": "a table",
    "model_type": "a table",
    "model_attributes_type": "a table",
}


def _reason(detail: ErrorDetails, known: tuple[str, ...]) -> str:
    kind = detail["type"]
    key = str(detail["loc"][-1]) if detail["loc"] else ""
    if kind == "missing":
        return "is missing; add it"
    if kind == "extra_forbidden":
        near = [name for name in difflib.get_close_matches(key, known, n=1) if name != key]
        hint = f"did you mean {near[0]!r}?" if near else "correct or remove it"
        return f"this key is not known here; {hint}"
    if kind in ("union_tag_not_found", "union_tag_invalid"):
        context = detail.get("ctx", {})
        name = str(context.get("discriminator", "type")).strip("'")
        if kind == "union_tag_not_found":
            return f"{name} is missing; add it"
        return f"{name} {context.get('tag')!r} is not known; use {context.get('expected_tags')}"
    if kind in _TYPES:
        return f"must be {_TYPES[kind]}; {_written(detail['input'])}"
    message = " ".join(detail["msg"].removeprefix("Value error, ").split())
    return message if ";" in message else f"{message}; correct it"


def _written(value: object) -> str:
    text = repr(value)
    return f"the file has {text if len(text) <= 60 else text[:57] + '...'}"
