"""Values that a drafted map does not list yet: a person who sees the recorder may still give them.

A draft knows only what was on its photographs. What it marks as drafted is open; what a person
has confirmed, and every map that is not a draft, stays closed.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import replace
from itertools import combinations

from asfound.calc.look_alikes import folded
from asfound.model.kinds import (
    Choice,
    Date,
    FieldType,
    Host,
    IPv4,
    Level,
    Number,
    Switch,
    Text,
    Time,
)
from asfound.model.values import problem, words_of

LONGEST = 128
"""Characters; no menu row shows more (common practice, no source)."""

_FIGURE = re.compile(r"-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?")


def value_problem(kind: FieldType, drafted: Collection[str], value: str) -> str | None:
    """Why ``value`` is no value of the field; None when it is one, or may be one that the draft
    has not seen. ``drafted`` is the field's own (``model.menu_map.Field``)."""
    wrong = problem(kind, value)
    if wrong is None or not drafted or not value or len(value) > LONGEST:
        return wrong
    known = next((word for word in words_of(kind) if alike(word, value)), None)
    if known is not None:
        return f"{value!r} looks like {known!r}, which the map lists; write it so"
    return None if _open(kind, set(drafted), value) else wrong


def unlisted(kind: FieldType, drafted: Collection[str], value: str) -> bool:
    """True for a value that ``value_problem`` accepts although the map does not list it."""
    return problem(kind, value) is not None and value_problem(kind, drafted, value) is None


def alike(one: str, other: str) -> bool:
    """True for texts that differ by spaces, letter case or look-alike characters alone."""
    small = (one.casefold(), other.casefold())
    return folded(one) == folded(other) or folded(small[0]) == folded(small[1])


def alike_words(kind: FieldType) -> tuple[tuple[str, str], ...]:
    """Pairs among the words of a list that are ``alike``, in the list's order."""
    return tuple(pair for pair in combinations(words_of(kind), 2) if alike(*pair))


def _open(kind: FieldType, drafted: set[str], value: str) -> bool:
    """True where the draft leaves room for ``value``. A secret's value is never written down."""
    untyped = "type" in drafted
    match kind:
        case Choice() | Switch():
            return bool(drafted & {"type", "options"})
        case Number() | Level() if _FIGURE.fullmatch(value):
            return bool(drafted & {"type", "range"})
        case Number() | Level() | Time() | Date() | IPv4() if not _has_figures(value):
            # A word in place of the figures, such as "Never".
            return untyped or (isinstance(kind, Number) and "options" in drafted)
        case Number() | Level():
            # Figures with letters: an option such as "720p", but no slip such as "1O".
            return untyped and not folded(value).isdigit()
        case Text():
            return bool(drafted & {"type", "length"})
        case Host():
            longer = replace(kind, max_length=LONGEST)
            return untyped or ("length" in drafted and problem(longer, value) is None)
        case _:
            return False


def _has_figures(value: str) -> bool:
    return any(sign.isdigit() for sign in value)
