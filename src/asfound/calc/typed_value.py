"""What a person types for a setting: the recorder's own writing, or the canonical one.

Nothing is mended: only what ``model.values.shown`` writes is read back, and spaces at the ends,
which nobody sees on a screen, are dropped.
"""

from __future__ import annotations

from collections.abc import Collection
from decimal import Decimal, InvalidOperation

from asfound.calc.open_values import value_problem
from asfound.calc.plain_text import code, unseen
from asfound.model.kinds import Choice, Date, FieldType, IPv4, Number, Secret, Switch
from asfound.model.values import canonical_number


def typed_value(
    kind: FieldType, text: str, drafted: Collection[str] = ()
) -> tuple[str | None, str]:
    """(canonical value, "") or (None, why it is no value of ``kind``).

    Capitals and small letters are one in the words of a fixed list, where that leaves one.
    ``drafted`` as in ``calc.open_values``: a value that a draft does not list yet is taken.
    """
    words = text.strip()
    if bad := unseen(words):
        return None, f"it holds the unseen character {code(bad)}"
    value = _canonical(kind, words)
    wrong = value_problem(kind, drafted, value)
    return (None, wrong) if wrong is not None else (value, "")


def _canonical(kind: FieldType, words: str) -> str:
    match kind:
        case Choice(options=options):
            return _one_of({option: option for option in options}, words)
        case Switch(on=on, off=off):
            return _one_of({on: "on", off: "off"}, words)
        case Number():
            return _number(kind, words)
        case Date(layout=layout):
            return _date(layout, words)
        case IPv4():
            return _address(words)
        case Secret():
            return words.casefold()
        case _:
            return words


def _one_of(values: dict[str, str], words: str) -> str:
    """The value whose writing is ``words``; ``words`` as they are when there is not one alone."""
    if words in values:
        return values[words]
    like = {value for name, value in values.items() if name.casefold() == words.casefold()}
    if not like:
        like = {value for value in values.values() if value.casefold() == words.casefold()}
    return like.pop() if len(like) == 1 else words


def _number(kind: Number, words: str) -> str:
    if kind.words and (found := _one_of({word: word for word in kind.words}, words)) in kind.words:
        return found
    figures = words
    if kind.unit and words.casefold().endswith(kind.unit.casefold()):
        figures = words[: -len(kind.unit)].strip()
    try:
        number = Decimal(figures)
    except InvalidOperation:
        return words
    # "4" is "4.0"; more decimals than the recorder shows are not rounded away.
    if not number.is_finite() or number != round(number, kind.decimals):
        return figures
    return canonical_number(kind, number)


def _date(layout: str, words: str) -> str:
    """YYYY-MM-DD of a date in the recorder's layout; ``words`` as they are for any other."""
    if len(words) != len(layout):
        return words
    parts = {"YYYY": "", "MM": "", "DD": ""}
    for letter, char in zip(layout, words, strict=True):
        for name in parts:
            if letter == name[0]:
                parts[name] += char
        if letter in "-./" and char != letter:
            return words
    return "-".join(parts.values())


def _address(words: str) -> str:
    """The address without padding."""
    parts = words.split(".")
    if len(parts) == 4 and all(part.isascii() and part.isdigit() for part in parts):
        return ".".join(str(int(part)) for part in parts)
    return words
