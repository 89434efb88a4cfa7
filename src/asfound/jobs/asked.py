"""What a person typed, as figures: shared by options of commands and fields of pages.

Every function raises UsageError that names the field and says what to write.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from math import isfinite

from asfound.errors import UsageError
from asfound.units import parse_quantity, plain_text

Fields = Mapping[str, str]
"""Texts by the name of their field; a field that is missing or blank was left out."""

SHARE = re.compile(r"(\d{1,3}(?:[.]\d{1,3})?)\s*%")
FIGURE = re.compile(r"[+-]?\d{1,9}(?:[.]\d{1,9})?")
LONGEST = 400
"""Letters of a field: more than any of them takes."""


def text_of(fields: Fields, name: str, default: str = "") -> str:
    """What stands in a field, else ``default``."""
    text = fields.get(name, "").strip() or default
    if len(text) > LONGEST:
        raise UsageError(f"{name}: longer than {LONGEST} letters; write less")
    return text


def needed(fields: Fields, name: str, example: str) -> str:
    """What stands in a field that may not be left out."""
    text = text_of(fields, name)
    if not text:
        raise UsageError(f"{name} is missing; write for example {example}")
    return text


def quantity(text: str, name: str, units: Mapping[str, float], limit: float = 1e18) -> float:
    """A figure above 0 with one of ``units``, in units of 1."""
    try:
        found = parse_quantity(text, units)
    except ValueError as error:
        raise UsageError(f"{name}: {error}") from None
    if not 0 < found <= limit:
        # In the unit in which it is shortest: 1000000 TB, 24 h.
        most = min((f"{plain_text(limit / size)} {unit}" for unit, size in units.items()), key=len)
        raise UsageError(f"{name} {text}: more than 0 is wanted, and at most {most}")
    return found


def figure(text: str, name: str, least: float, most: float) -> float:
    """A plain figure from ``least`` to ``most``."""
    low, high = plain_text(least), plain_text(most)
    if not FIGURE.fullmatch(text) or not isfinite(float(text)):
        raise UsageError(f"{name}: {text!r} is no figure; write one from {low} to {high}")
    found = float(text)
    if not least <= found <= most:
        raise UsageError(f"{name} {text}: {low} to {high} is taken")
    return found


def whole(text: str, name: str, low: int, high: int) -> int:
    """A whole figure from ``low`` to ``high``."""
    found = figure(text, name, low, high)
    if found != int(found):
        raise UsageError(f"{name} {text}: a whole figure is wanted")
    return int(found)


def share(text: str, name: str) -> float:
    """A share below 100 %, as a figure below 1."""
    found = SHARE.fullmatch(text)
    if found is None or float(found[1]) >= 100:
        raise UsageError(f"{name} {text!r} is no share below 100%; write 5%")
    return float(found[1]) / 100


def one_of(text: str, name: str, choices: Collection[str]) -> str:
    """One of several words."""
    if text not in choices:
        raise UsageError(f"{name}: there is no {text!r}; take one of {', '.join(choices)}")
    return text
