"""Rows of a CSV of figures as it comes: separators found, columns by name or number, broken lines
left out and counted by whoever reads them."""

from __future__ import annotations

import codecs
import csv
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import chain

from asfound.calc.plain_text import plain
from asfound.errors import InputError, UsageError

LONGEST_LINE = 65_536
SEPARATORS = ",;\t"
LOOK_AT = 20


def split_lines(chunks: Iterable[bytes]) -> Iterator[bytes]:
    """Lines without their ends. A line beyond LONGEST_LINE comes cut: no reader takes it then."""
    rest = b""
    for chunk in chunks:
        rest += chunk
        if len(rest) > LONGEST_LINE and b"\n" not in rest and b"\r" not in rest:
            rest = rest[: LONGEST_LINE + 1]
            continue
        # A lone CR ends lines of old loggers; one at the chunk's end may belong to an LF.
        held = b"\r" if rest.endswith(b"\r") else b""
        lines = rest[: len(rest) - len(held)].replace(b"\r\n", b"\n").replace(b"\r", b"\n")
        *whole, rest = lines.split(b"\n")
        rest += held
        yield from whole
    if rest.strip():
        yield rest.rstrip(b"\r")


def csv_rows(
    lines: Iterable[bytes], name: str, separator: str = ""
) -> Iterator[tuple[int, list[str]]]:
    """(line number, cells) of each line that is not empty; a comment (#) is none. Cells do not hold
    line breaks; ``separator`` "": as the first lines have it. Raises InputError for bytes that are
    no text."""
    numbered = enumerate(lines, 1)
    ahead: list[tuple[int, str]] = []
    for number, raw in numbered:
        text = _text(raw, number, name)
        if text.strip() and not text.startswith("#"):
            ahead.append((number, text))
        if len(ahead) >= LOOK_AT:
            break
    separator = separator or separator_of([text for _, text in ahead])
    later = ((number, _text(raw, number, name)) for number, raw in numbered)
    for number, text in chain(ahead, later):
        if not text.strip() or text.startswith("#"):
            continue
        yield number, _cells(text, separator)


def column_numbers(
    wanted: Mapping[str, str], head: Sequence[str], name: str
) -> tuple[dict[str, int], bool]:
    """Place of each column in ``wanted`` (what it is for -> its name, or its number from 1), and
    whether ``head`` is a line of names. Raises UsageError naming those that are there."""
    names = [cell.strip().casefold() for cell in head]
    places, named = {}, False
    for purpose, text in wanted.items():
        sought = text.strip().casefold()
        if sought in names:
            if names.count(sought) > 1:
                raise UsageError(
                    f"{plain(name)}: column {plain(text)!r} stands there twice; say its number"
                )
            places[purpose], named = names.index(sought), True
        elif sought.isascii() and sought.isdecimal() and 1 <= int(sought) <= len(names):
            places[purpose] = int(sought) - 1
        else:
            known = ", ".join(plain(cell.strip())[:30] for cell in head[:20])
            raise UsageError(
                f"{plain(name)}: no column {plain(text)[:40]!r} for {purpose}; its first line says "
                f"{known}: name columns with {purpose}=NAME or {purpose}=NUMBER"
            )
    return places, named or not any(_figure(cell) for cell in head)


def _text(raw: bytes, number: int, name: str) -> str:
    if number == 1:
        raw = raw.removeprefix(codecs.BOM_UTF8)
    if b"\0" in raw:
        raise InputError(f"{plain(name)}:{number}: holds bytes that are no text; give CSV in UTF-8")
    return raw.decode("utf-8", "replace")


def separator_of(lines: Sequence[str]) -> str:
    """The separator that most lines have as often as the first; semicolon and tab before comma,
    which may be the decimal sign."""
    if not lines:
        return ","
    return max(
        ";\t,",
        key=lambda sign: (
            lines[0].count(sign) > 0,
            sum(line.count(sign) == lines[0].count(sign) > 0 for line in lines),
        ),
    )


def _cells(text: str, separator: str) -> list[str]:
    try:
        return next(csv.reader([text], delimiter=separator), [])
    except csv.Error:
        # Too long a cell: the reader of the row finds no figure in it.
        return [text[:100]]


def _figure(cell: str) -> bool:
    digits = cell.strip().replace(",", "").replace(".", "").lstrip("+-")
    return digits.isascii() and digits.isdecimal()
