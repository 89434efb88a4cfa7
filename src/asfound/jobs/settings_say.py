"""What settings say, by what they mean: as figures in units of 1, whatever the recorder shows."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta

from asfound.model.kinds import Choice, Number, Switch
from asfound.model.menu_map import Field, Meaning, MenuMap

UNITS = {
    "ms": 1e-3, "s": 1.0, "min": 60.0, "h": 3600.0, "days": 1.0, "day": 1.0, "d": 1.0, "%": 0.01,
    "GB": 1e9, "V": 1.0, "g": 1.0, "km/h": 1.0, "mph": 1.609344, "imp/km": 1.0, "": 1.0,
}  # fmt: skip
"""Units of numbers in menus, in units of 1: seconds, days, shares, bytes, volts, g, km/h
(1 mile = 1.609344 km exactly)."""
OFFSET = re.compile(r"(?:UTC|GMT)?\s*([+-]?)(\d{1,2})(?::?(\d\d))?")


@dataclass(frozen=True, slots=True)
class Said:
    """A setting: its field and its canonical value."""

    field: Field
    value: str


class Settings:
    """Certain settings of a recorder, asked by what they mean."""

    def __init__(self, menu_map: MenuMap, firmware: str, values: Mapping[str, str]) -> None:
        self._said = [
            Said(field, values[field.id])
            for field in menu_map.fields_in(firmware)
            if field.means and field.id in values
        ]
        self._known = {field.means for field in menu_map.fields_in(firmware) if field.means}

    def has(self, means: Meaning) -> bool:
        """True when the recorder has such a setting, read or not."""
        return means in self._known

    def every(self) -> list[Said]:
        """All of them, in menu order."""
        return list(self._said)

    def all(self, means: Meaning) -> list[Said]:
        """Every setting that means this."""
        return [said for said in self._said if said.field.means == means]

    def one(self, means: Meaning) -> Said | None:
        """The first setting that means this."""
        return next(iter(self.all(means)), None)


def amount(said: Said) -> str:
    """What the map says a value stands for, else the value as it is."""
    kind = said.field.type
    if isinstance(kind, Choice):
        return kind.amount(said.value) or said.value
    return said.value


def figure(said: Said | None) -> float | None:
    """The figure of a setting in units of 1; None for words ("Never") and what is no figure."""
    if said is None:
        return None
    kind = said.field.type
    unit = UNITS.get(kind.unit) if isinstance(kind, Number) else 1.0
    try:
        found = float(amount(said))
    except ValueError:
        return None
    return None if unit is None else found * unit


def is_on(said: Said) -> bool:
    """True for a switch that is on, and an option that does not say off."""
    if isinstance(said.field.type, Switch):
        return said.value == "on"
    return amount(said).casefold() not in ("off", "none", "no", "0")


def utc_offset(said: Said | None) -> timedelta | None:
    """How far ahead of UTC a time-zone setting puts the clock; None: it does not say."""
    if said is None:
        return None
    text = amount(said).strip()
    if text.upper() in ("UTC", "GMT", "Z"):
        return timedelta(0)
    found = OFFSET.fullmatch(text)
    if found is None or int(found[2]) > 14 or int(found[3] or 0) > 59:
        return None
    ahead = timedelta(hours=int(found[2]), minutes=int(found[3] or 0))
    return -ahead if found[1] == "-" else ahead
