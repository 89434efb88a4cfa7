"""What the figures and words of one field must keep."""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal, InvalidOperation

from asfound.model.kinds import Choice, Level, Number, Switch
from asfound.model.menu_map import Field
from asfound.model.values import canonical_number

Fault = tuple[str, str]
"""Key of the field's table, and what is wrong with it."""

MAX_VALUES = 100_000
"""More steps than this between minimum and maximum are surely a slip."""

_AMOUNTS = {
    "frame-size": (re.compile(r"[1-9][0-9]{1,4}x[1-9][0-9]{1,4}"), "1920x1080 (pixels)"),
    "frame-rate": (re.compile(r"[0-9]+(\.[0-9]+)?"), "25 (pictures a second)"),
    "bit-rate": (re.compile(r"[1-9][0-9]*"), "2000000 (bit/s)"),
    "time-zone": (re.compile(r"[+-][0-9]{2}:[0-9]{2}"), "+01:00 (ahead of UTC)"),
    "recording-mode": (re.compile(r"ignition|always|timetable|events"), "ignition"),
    "overwrite": (re.compile(r"oldest|stop"), "oldest"),
    "supply-volts": (re.compile(r"12|24|either"), "24"),
    "run-on": (re.compile(r"[0-9]+"), "1800 (s)"),
}
_VOLTS = ("V",)
_TIMES = ("ms", "s", "min", "h")
_DAYS = ("days", "day", "d")
_UNITS = {
    "bit-rate": ("kbit/s", "Mbit/s"), "frame-rate": ("fps",),
    "run-on": _TIMES, "event-before": _TIMES, "event-after": _TIMES,
    "shock-duration": _TIMES, "speed-duration": _TIMES,
    "delete-after": _DAYS, "delete-events-after": _DAYS, "event-reserve": ("%", "GB"),
    "cut-off": _VOLTS, "cut-off-12": _VOLTS, "cut-off-24": _VOLTS, "cut-in": _VOLTS,
}  # fmt: skip


def kind_faults(field: Field) -> Iterator[Fault]:
    """Faults of the type-specific keys of ``field``."""
    match field.type:
        case Choice():
            yield from _choice(field, field.type)
        case Switch() if field.type.on == field.type.off:
            yield "off", f"on and off both show {field.type.on!r}; write what the screen shows"
        case Number():
            yield from _number(field, field.type)
        case Level() if field.type.minimum > field.type.maximum:
            yield "minimum", "is above maximum; correct one"
        case _:
            return


def _choice(field: Field, kind: Choice) -> Iterator[Fault]:
    for number, option in enumerate(kind.options):
        if option in kind.options[:number]:
            yield "options", f"{option!r} stands twice; remove one"
    pattern, example = _AMOUNTS.get(field.means or "", (None, ""))
    for option, amount in kind.amounts:
        if option not in kind.options:
            yield "amounts", f"{option!r} is not one of the options; correct it"
        elif pattern and not pattern.fullmatch(amount):
            yield "amounts", f"{amount!r} for {option!r} must look like {example}; correct it"


def _number(field: Field, kind: Number) -> Iterator[Fault]:
    if kind.step <= 0:
        yield "step", f"{kind.step} is not above 0; correct it"
        return
    if kind.minimum > kind.maximum:
        yield "minimum", f"{kind.minimum} is above maximum {kind.maximum}; correct one"
        return
    for key, value in (("minimum", kind.minimum), ("maximum", kind.maximum), ("step", kind.step)):
        if Decimal(canonical_number(kind, value)) != value:
            yield key, f"{value} has more than {kind.decimals} decimals; set decimals"
    steps = (kind.maximum - kind.minimum) / kind.step
    if steps > MAX_VALUES:
        yield "step", f"{steps:.0f} steps from minimum to maximum; correct one of them"
    elif steps % 1:
        yield "maximum", f"is not reached from {kind.minimum} in steps of {kind.step}; correct one"
    yield from _words(kind)
    units = _UNITS.get(field.means or "")
    if units and kind.unit not in units:
        yield "unit", f"a {field.means} is given in {' or '.join(units)}; correct it"


def _words(kind: Number) -> Iterator[Fault]:
    for number, word in enumerate(kind.words):
        if word in kind.words[:number]:
            yield "words", f"{word!r} stands twice; remove one"
        try:
            Decimal(word)
        except InvalidOperation:
            continue
        yield "words", f"{word!r} reads as a number; words stand for what is not a number"
