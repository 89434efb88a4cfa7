"""Text lines of a menu as pieces of rows: parted at leaders, joined where they touch."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from asfound.calc.textlines import Line, stretch
from asfound.model.reading import Box

LEGIBLE = 0.5
"""Mean score below which a line is a drawing."""

LEADERS = " :.·…_"

_DOTS = re.compile(r"\s*(?:[.·…_]\s*){3,}")


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of text in a row: outline in pixels, ``left``/``right`` along the row."""

    text: str
    score: float
    box: Box
    left: float
    right: float
    height: float
    places: tuple[float, ...] = ()
    """Where each character of ``text`` stands, in pixels along the row."""


def legible(piece: Piece) -> bool:
    """True for text; drawings score low or have no letter or figure."""
    return piece.score >= LEGIBLE and any(letter.isalnum() for letter in piece.text)


def pieces_in_rows(lines: Sequence[Line]) -> list[list[Piece]]:
    """The lines as rows of pieces, top to bottom, left to right."""
    rows: dict[int, list[Piece]] = {}
    for line in lines:
        rows.setdefault(line.row, []).extend(_undotted(line))
    return [_touching(row) for _, row in sorted(rows.items())]


def _undotted(line: Line) -> list[Piece]:
    """The line in two where dots lead from a label to its value."""
    match = _DOTS.search(line.text)
    if match is None or match.start() == 0 or match.end() == len(line.text):
        return [_piece(line)]
    whole = _piece(line)
    lead = len(line.text) - len(line.text.lstrip())
    head, rest = cut_piece(whole, match.start() - lead, match.end() - lead)
    return [head, rest] if rest is not None else [head]


def _piece(line: Line) -> Piece:
    text = line.text.strip()
    start = len(line.text) - len(line.text.lstrip())
    wide = line.right - line.left
    places = tuple(line.left + at * wide for at in line.places[start : start + len(text)])
    return Piece(text, line.score, line.quad, line.left, line.right, line.height, places)


def _touching(row: Sequence[Piece]) -> list[Piece]:
    """Pieces of one row that nearly touch are one, unless a colon ends the first."""
    joined: list[Piece] = []
    for piece in row:
        before = joined[-1] if joined else None
        if (
            before is not None
            and legible(before)
            and legible(piece)
            and not before.text.endswith(":")
            and piece.left - before.right < 0.22 * min(piece.height, before.height)
        ):
            joined[-1] = together(before, piece)
        else:
            joined.append(piece)
    return joined


def together(a: Piece, b: Piece) -> Piece:
    """Two neighbours as one piece, with a space between."""
    size = max(len(a.text) + len(b.text), 1)
    score = (a.score * len(a.text) + b.score * len(b.text)) / size
    box = (a.box[0], b.box[1], b.box[2], a.box[3])
    places = (*a.places, (a.right + b.left) / 2, *b.places)
    high = max(a.height, b.height)
    return Piece(f"{a.text} {b.text}", score, box, a.left, b.right, high, places)


def cut_piece(piece: Piece, end: int, start: int) -> tuple[Piece, Piece | None]:
    """The piece before character ``end``, and from ``start`` on without a leader."""
    lead = len(piece.text[start:]) - len(piece.text[start:].lstrip(LEADERS))
    start += lead
    behind = piece.right
    if start < len(piece.text) and piece.places:
        behind = max((piece.places[start - 1] + piece.places[start]) / 2,
                     piece.places[start] - 0.6 * piece.height)  # fmt: skip
    ahead = piece.places[end - 1] + 0.4 * piece.height if piece.places and end else behind
    ahead = min(ahead, behind)
    text = piece.text[:end]
    head = Piece(
        text, piece.score, stretch(piece.box, piece.left, ahead),
        piece.left, ahead, piece.height, piece.places[:end],
    )  # fmt: skip
    rest = piece.text[start:].rstrip()
    if not rest:
        return head, None
    box = stretch(piece.box, behind, piece.right)
    tail = Piece(
        rest, piece.score, box, behind, piece.right, piece.height,
        piece.places[start : start + len(rest)],
    )  # fmt: skip
    return head, tail
