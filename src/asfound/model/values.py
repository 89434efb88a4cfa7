"""Canonical values: check them, and show them the way the recorder does."""

from __future__ import annotations

import re
from datetime import date, time
from decimal import Decimal, InvalidOperation

from asfound.model.kinds import (
    Choice,
    Date,
    FieldType,
    Host,
    IPv4,
    Level,
    Number,
    Secret,
    Switch,
    Text,
    Time,
)

_HOST = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9.-]*[A-Za-z0-9])?")
_FIGURES = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")


def problem(kind: FieldType, value: str) -> str | None:
    """Why ``value`` is not a canonical value of ``kind``; None when it is one."""
    match kind:
        case Choice() if value not in kind.options:
            return f"{value!r} is not one of {', '.join(map(repr, kind.options))}"
        case Switch() if value not in ("on", "off"):
            return f"{value!r} is neither 'on' nor 'off'"
        case Number():
            return _number_problem(kind, value)
        case Level():
            return _level_problem(kind, value)
        case Time():
            return _time_problem(kind, value)
        case Date():
            return _date_problem(value)
        case _:
            return _text_like_problem(kind, value)


def _text_like_problem(kind: FieldType, value: str) -> str | None:
    match kind:
        case IPv4():
            return _ipv4_problem(value)
        case Host() if value and (len(value) > kind.max_length or not _HOST.fullmatch(value)):
            return f"{value!r} is not a host name of at most {kind.max_length} characters"
        case Text():
            return _text_problem(kind, value)
        case Secret() if value not in ("set", "blank"):
            return "a secret is only ever 'set' or 'blank'"
        case _:
            return None


def words_of(kind: FieldType) -> tuple[str, ...]:
    """The words that a value of ``kind`` is shown with, where they are listed; else none."""
    match kind:
        case Choice(options=options):
            return options
        case Switch(on=on, off=off):
            return (on, off)
        case Number(words=words):
            return words
        case _:
            return ()


def canonical_number(kind: Number, value: Decimal) -> str:
    """``value`` written with the number of decimals that ``kind`` has."""
    return f"{value:.{kind.decimals}f}"


def shown(kind: FieldType, value: str) -> str:
    """``value`` as the recorder's screen (and so a person) writes it; what is not canonical (a
    word that a drafted map does not list) as it is."""
    match kind:
        case Switch():
            return {"on": kind.on, "off": kind.off}.get(value, value)
        case Number() if value not in kind.words and kind.unit and _FIGURES.fullmatch(value):
            return f"{value} {kind.unit}"
        case Date() if problem(kind, value) is None:
            year, month, day = value.split("-")
            return kind.layout.replace("YYYY", year).replace("MM", month).replace("DD", day)
        case IPv4() if kind.padded and problem(kind, value) is None:
            return ".".join(f"{int(part):03d}" for part in value.split("."))
        case Secret():
            return kind.mask * 6 if value == "set" else ""
        case _:
            return value


def _number_problem(kind: Number, value: str) -> str | None:
    if value in kind.words:
        return None
    try:
        number = Decimal(value)
    except InvalidOperation:
        return f"{value!r} is not a number"
    if not number.is_finite() or canonical_number(kind, number) != value:
        return f"{value!r} is not written with {kind.decimals} decimals"
    if not kind.minimum <= number <= kind.maximum:
        return f"{value} is outside {kind.minimum} to {kind.maximum}"
    if (number - kind.minimum) % kind.step:
        return f"{value} is not reached from {kind.minimum} in steps of {kind.step}"
    return None


def _level_problem(kind: Level, value: str) -> str | None:
    if not re.fullmatch(r"0|-?[1-9][0-9]*", value):
        return f"{value!r} is not a whole number"
    if not kind.minimum <= int(value) <= kind.maximum:
        return f"{value} is outside {kind.minimum} to {kind.maximum}"
    return None


def _date_problem(value: str) -> str | None:
    if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", value):
        return f"{value!r} is not a date YYYY-MM-DD"
    try:
        date.fromisoformat(value)
    except ValueError:
        return f"{value!r} is not a calendar date"
    return None


def _time_problem(kind: Time, value: str) -> str | None:
    pattern = r"[0-9]{2}:[0-9]{2}:[0-9]{2}" if kind.seconds else r"[0-9]{2}:[0-9]{2}"
    if not re.fullmatch(pattern, value):
        return f"{value!r} is not a time {'HH:MM:SS' if kind.seconds else 'HH:MM'}"
    try:
        time.fromisoformat(value)
    except ValueError:
        return f"{value!r} is not a time of day"
    return None


def _ipv4_problem(value: str) -> str | None:
    parts = value.split(".")
    if len(parts) != 4 or not all(re.fullmatch(r"0|[1-9][0-9]{0,2}", part) for part in parts):
        return f"{value!r} is not an IPv4 address without padding"
    if any(int(part) > 255 for part in parts):
        return f"{value!r} has a part above 255"
    return None


def _text_problem(kind: Text, value: str) -> str | None:
    if len(value) > kind.max_length:
        return f"{value!r} is longer than {kind.max_length} characters"
    if kind.alphabet and (wrong := sorted(set(value) - set(kind.alphabet))):
        return f"{value!r} has characters the recorder does not take: {''.join(wrong)!r}"
    return None
