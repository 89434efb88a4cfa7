"""The heading of an unknown menu's page, and the page's number beside it."""

from __future__ import annotations

import re
from collections.abc import Sequence

from asfound.calc.draft_pieces import LEADERS, Piece, legible

CLOCK = re.compile(
    r"(?:\d{4}[-./]\d\d[-./]\d\d|\d\d[-./]\d\d[-./]\d{2,4})\s*,?\s*\d\d:\d\d(?::\d\d)?"
)
_NUMBER = re.compile(
    r"(?:[^\W\d]{1,8}[.:]?)?\s*[\[(<#-]*\s*(\d{1,3})\s*"
    r"(?:(?:/|\||of|von|van|de|sur|di|z|av)\s*(\d{1,3}))?\s*[\])>-]*",
    re.IGNORECASE,
)
_WORDS = r"(?:page|seite|pagina|página|strona|sheet|screen|p|pag|no|nr)[.:]?"
_PAGE = re.compile(_WORDS, re.IGNORECASE)
_ONLY_NUMBER = re.compile(
    rf"(?:{_WORDS})?\s*[\[(]?\s*(\d{{1,3}})\s*"
    r"(?:/|of|von|van|de|sur|di|z|av)\s*(\d{1,3})\s*[\])]?",
    re.IGNORECASE,
)
_BRACKETED = re.compile(r"\s*[\[(<#-]*\s*(\d{1,3})\s*[\])>-]*\s*")
_TAIL = re.compile(
    r"(?<=\S)\s+[\[(]?(?:[^\W\d]{1,8}[.:]?\s*)?(\d{1,3})\s*(?:/|of)\s*(\d{1,3})[\])]?$",
    re.IGNORECASE,
)


def only_number(text: str) -> tuple[int, int | None] | None:
    """Page number and count where the text is nothing else ("Page 3 of 14", "[03]")."""
    if found := _ONLY_NUMBER.fullmatch(text):
        return int(found[1]), int(found[2])
    found = _BRACKETED.fullmatch(text)
    return (int(found[1]), None) if found else None


def heading_of(row: Sequence[Piece]) -> tuple[str, float, int | None, int | None]:
    """Title, its score, page number and page count of the top row."""
    pieces = [piece for piece in row if legible(piece) and not CLOCK.search(piece.text)]
    number = total = None
    whole = only_number(" ".join(piece.text for piece in pieces))
    if whole is not None:
        # Only the page's number was seen, its title was not.
        return "", 0.0, *whole
    for first in range(1, len(pieces)):
        found = _NUMBER.fullmatch(" ".join(piece.text for piece in pieces[first:]))
        # "Cable" before "(10/15)" is the title's last word.
        if found and (
            any(sign.isdigit() for sign in pieces[first].text)
            or _PAGE.fullmatch(pieces[first].text.strip())
        ):
            number, total = int(found[1]), int(found[2]) if found[2] else None
            pieces = pieces[:first]
            break
    text = " ".join(piece.text for piece in pieces)
    if number is None and (tail := _TAIL.search(text)):
        number, total = int(tail[1]), int(tail[2])
        text = text[: tail.start()]
    size = sum(len(piece.text) for piece in pieces)
    score = sum(piece.score * len(piece.text) for piece in pieces) / size if size else 0.0
    return text.strip(LEADERS), score, number, total
