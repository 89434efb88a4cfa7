"""Documents: the model's frozen dataclasses to JSON and back, checked at the edge.

One way for journals, blobs and the command line. Text is canonical (sorted keys, no spaces), so
the same value always gives the same bytes and the same hash. Times are RFC 3339; decimals are
strings; enums are their values; a field type of a menu map carries its ``kind``. Reading is
strict: "8" is not taken for 8. Keys that a class does not know are passed over, so that a later
version may add some.
"""

from __future__ import annotations

import json
import math
from functools import cache
from typing import Any, TypeVar

from pydantic import TypeAdapter, ValidationError

from asfound.errors import InputError
from asfound.model.journal import canonical_json

T = TypeVar("T")


@cache
def _made(cls: Any) -> TypeAdapter[Any]:
    return TypeAdapter(cls)


def _adapter(cls: Any) -> TypeAdapter[Any]:
    return _made(cls)


def to_data(obj: object) -> Any:
    """``obj`` as JSON-able values (dict, list, str, int, float, bool, None).

    Raises ValueError when a number is not finite: JSON cannot carry it.
    """
    data = _adapter(type(obj)).dump_python(obj, mode="json", warnings="error")
    _must_be_finite(data, type(obj).__name__)
    return data


def to_json(obj: object) -> str:
    """``obj`` as canonical JSON text. Raises ValueError as ``to_data`` does."""
    return canonical_json(to_data(obj))


def from_json(cls: type[T], text: str | bytes, where: str = "") -> T:
    """The ``cls`` that ``text`` describes. Raises InputError, one line, naming ``where``."""
    name = where or f"{cls.__name__} document"
    try:
        made: T = _adapter(cls).validate_json(text, strict=True)
    except ValidationError as error:
        first = error.errors(include_url=False, include_context=False, include_input=False)[0]
        place = ".".join(str(part) for part in first["loc"])
        at = f"{name}: {place}" if place else name
        reason = " ".join(str(first["msg"]).split())
        if (more := error.error_count() - 1) > 0:
            reason = f"{reason} (and {more} more)"
        raise InputError(f"{at}: {reason}; mend the document or make it again") from None
    return made


def from_data(cls: type[T], data: object, where: str = "") -> T:
    """The ``cls`` that JSON-able ``data`` describes. Raises InputError as ``from_json``."""
    try:
        text = json.dumps(data, allow_nan=False)
    except (TypeError, ValueError) as error:
        name = where or f"{cls.__name__} document"
        raise InputError(f"{name}: {error}; only JSON values can be kept") from None
    return from_json(cls, text, where)


def _must_be_finite(value: object, path: str) -> None:
    if isinstance(value, float) and not math.isfinite(value):
        raise ValueError(f"{path} is {value}, which JSON cannot carry")
    if isinstance(value, dict):
        for key, item in value.items():
            _must_be_finite(item, f"{path}.{key}")
    elif isinstance(value, list):
        for number, item in enumerate(value):
            _must_be_finite(item, f"{path}.{number}")
