"""A value that a drafted map does not know yet becomes a doubt, never the nearest known one."""

from __future__ import annotations

from dataclasses import replace

from asfound.calc.draft_shapes import mended, switch_word, without_marks
from asfound.calc.draft_spelling import folded
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
from asfound.model.menu_map import Field
from asfound.model.reading import FieldReading, State
from asfound.model.values import words_of

REASON = "may be a value that the drafted map does not know yet"


def with_new_options(field: Field, reading: FieldReading) -> FieldReading:
    """The reading; of a field whose type or options are only drafted, text that is none of
    the known values stands first among the candidates, and is never taken for one of them."""
    kind = field.type
    open_list = bool({"type", "options"} & set(field.drafted))
    if not open_list or isinstance(kind, Text | Host | ReadOnly | Secret):
        return reading
    text = mended(without_marks(reading.text, "")[0])
    if not any(sign.isalnum() for sign in text):
        return reading
    if folded(text) in {folded(word) for word in words_of(kind)}:
        return _which_is_on(kind, reading)
    if reading.state is State.SURE and not _by_words(kind, reading.value):
        return reading
    known = reading.candidates if reading.state is not State.UNREAD else ()
    candidates = tuple(dict.fromkeys((text, *known)))
    return replace(reading, value=text, state=State.DOUBT, candidates=candidates, reason=REASON)


def _which_is_on(kind: FieldType, reading: FieldReading) -> FieldReading:
    """Of words that are no known opposites a draft cannot tell which one means on."""
    if reading.state is not State.SURE or not isinstance(kind, Switch):
        return reading
    pair = switch_word(kind.on)
    if pair is not None and pair == switch_word(kind.off) and mended(kind.on).casefold() == pair[0]:
        return reading
    both = (reading.value or "on", "off" if reading.value == "on" else "on")
    reason = f"which of {kind.on!r} and {kind.off!r} is on is only drafted"
    return replace(reading, state=State.DOUBT, candidates=both, reason=reason)


def _by_words(kind: FieldType, value: str | None) -> bool:
    """True where ``value`` was told by its words; figures, times and dates are read exactly."""
    match kind:
        case Choice() | Switch():
            return True
        case Number(words=words):
            return value in words
        case Level() | Time() | Date() | IPv4():
            return False
        case _:
            return True
