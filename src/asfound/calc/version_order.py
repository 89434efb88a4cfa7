"""Orders of version numbers: SemVer, dotted numbers, dates, and a maker's own pattern as data.

``version_key`` maps a version to a tuple of (class, number, text). Tuples are compared as Python
compares them, so every scheme is a total and transitive order by construction; versions of equal
key are one and the same version. A text that is no version of the scheme is refused: nothing is
ever ordered as plain text.

Sources: Semantic Versioning 2.0.0, items 2, 9 and 11 (precedence). ISO 8601-1:2019 5.2.2.1 (basic
calendar dates). Natural order of dotted numbers: common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date

from asfound.model.firmware import OrderKind, PartKind, VersionPart, VersionScheme

Piece = tuple[int, int, str]
Key = tuple[Piece, ...]

LONGEST = 64
"""Letters of a version at most (own choice): far more than any has, few enough for patterns."""

_IDENTIFIER = r"(?:0|[1-9][0-9]*|[0-9]*[A-Za-z-][0-9A-Za-z-]*)"
_NUMBER = r"(0|[1-9][0-9]*)"
_SEMVER = re.compile(
    rf"{_NUMBER}\.{_NUMBER}\.{_NUMBER}(?:-({_IDENTIFIER}(?:\.{_IDENTIFIER})*))?"
    r"(?:\+[0-9A-Za-z-]+(?:\.[0-9A-Za-z-]+)*)?"
)
_DOTTED = re.compile(r"[vV]?([0-9][0-9A-Za-z]*(?:[._ -][0-9A-Za-z]+)*)")
_RUNS = re.compile(r"[0-9]+|[A-Za-z]+")
_YMD = re.compile(r"([0-9]{4})([-.]?)([0-9]{2})\2([0-9]{2})")
_DMY = re.compile(r"([0-9]{2})([-.]?)([0-9]{2})\2([0-9]{4}|[0-9]{2})")
_REPEATED_GROUP = re.compile(r"\)[*+{]")

CENTURY = 2000
"""Years of two figures are of this century (own choice: no such recorder is older)."""


def version_key(scheme: VersionScheme, version: str) -> Key:
    """The place of ``version`` in ``scheme``. Raises ValueError, which says what is wrong."""
    if len(version) > LONGEST:
        raise ValueError(f"is longer than {LONGEST} letters")
    if scheme.kind is OrderKind.SEMVER:
        return _semver(version)
    if scheme.kind is OrderKind.DOTTED:
        return _dotted(version)
    if scheme.kind is OrderKind.PATTERN:
        return _pattern(scheme, version)
    return (_date(version, scheme.kind is OrderKind.DATE_YMD),)


def _semver(version: str) -> Key:
    match = _SEMVER.fullmatch(version)
    if match is None:
        raise ValueError(f"{version!r} is no version by SemVer 2.0.0, like 1.4.0 or 1.4.0-rc.1")
    core = tuple((1, int(match[at]), "") for at in (1, 2, 3))
    if match[4] is None:
        return (*core, (1, 0, ""))
    return (*core, (0, 0, ""), *(_identifier(text) for text in match[4].split(".")))


def _identifier(text: str) -> Piece:
    # Item 11.4: numbers numerically and below texts; texts by ASCII.
    return (0, int(text), "") if text.isdecimal() else (1, 0, text)


def _dotted(version: str) -> Key:
    """Numbers by value, letters after the number they follow and before the next number: 1.2 <
    1.2a < 1.2.1. Leading zeros, zeros at the end, and whether letters are capitals do not count."""
    match = _DOTTED.fullmatch(version)
    if match is None:
        raise ValueError(f"{version!r} is no dotted version, like 2.10 or 1.4b")
    pieces = [_run(text) for text in _RUNS.findall(match[1])]
    while len(pieces) > 1 and pieces[-1] == (1, 0, ""):
        pieces.pop()
    return tuple(pieces)


def _run(text: str) -> Piece:
    return (1, int(text), "") if text.isdecimal() else (0, 0, text.casefold())


def _date(text: str, year_first: bool) -> Piece:
    match = (_YMD if year_first else _DMY).fullmatch(text)
    form = "YYYYMMDD" if year_first else "DDMMYY or DDMMYYYY"
    if match is None:
        raise ValueError(f"{text!r} is no date written {form}")
    year, month, day = (
        (match[1], match[3], match[4]) if year_first else (match[4], match[3], match[1])
    )
    whole = int(year) + (CENTURY if len(year) == 2 else 0)
    try:
        return (1, date(whole, int(month), int(day)).toordinal(), "")
    except ValueError:
        raise ValueError(f"{text!r} is no day of the calendar, written {form}") from None


def _pattern(scheme: VersionScheme, version: str) -> Key:
    match = re.fullmatch(scheme.pattern, version, re.ASCII)
    if match is None:
        raise ValueError(f"{version!r} does not fit the pattern of scheme {scheme.name!r}")
    return tuple(_part(part, match[part.group]) for part in scheme.parts)


def _part(part: VersionPart, text: str | None) -> Piece:
    if text is None or (text == "" and "" not in part.words):
        return (2 if part.missing_last else 0, 0, "")
    if part.kind is PartKind.WORDS:
        if text not in part.words:
            raise ValueError(f"{text!r} is none of the words {', '.join(map(repr, part.words))}")
        return (1, part.words.index(text), "")
    if part.kind is PartKind.NUMBER:
        if not (text.isascii() and text.isdecimal()):
            raise ValueError(f"{text!r} is no number (group {part.group})")
        return (1, int(text), "")
    if part.kind is PartKind.LETTERS:
        return (1, 0, text.casefold())
    return _date(text, part.kind is PartKind.DATE_YMD)


def pattern_fault(pattern: str, groups: Sequence[str]) -> str:
    """What is wrong with a maker's pattern, or ""."""
    if _REPEATED_GROUP.search(pattern):
        # Such patterns can take longer than the universe on a text of 40 letters.
        return "repeats a group; write the groups one after the other, each may be optional (?)"
    try:
        made = re.compile(pattern, re.ASCII)
    except (re.error, RecursionError, OverflowError) as error:
        return f"is no regular expression ({error}); mend it"
    lost = [name for name in groups if name not in made.groupindex]
    if lost:
        return f"has no group named {lost[0]!r}; write (?P<{lost[0]}>...)"
    return ""
