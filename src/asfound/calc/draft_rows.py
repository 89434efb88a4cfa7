"""From the text lines of one photograph of an unknown menu to its heading and rows.

Nothing is known but what menus have in common: a heading at the top, labels that begin on one
edge, values beside them, and around these a page number, a status line, a row that saves.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from asfound.calc.draft_heading import CLOCK, heading_of
from asfound.calc.draft_pieces import (
    LEADERS,
    LEGIBLE,
    Piece,
    cut_piece,
    legible,
    pieces_in_rows,
    together,
)
from asfound.calc.textlines import Line

_COLON = re.compile(r"(?:(?<=[^\W\d])|(?<=\))):|(?<=\d):(?=\s|\[|$)")


@dataclass(frozen=True, slots=True)
class RawRow:
    """A label and what stands beside it; ``drawn``: outlines of drawings in the row."""

    label: Piece
    value: Piece | None
    drawn: tuple[Piece, ...] = ()


@dataclass(frozen=True, slots=True)
class Screen:
    """A photograph's heading, page number and count, clock text, and rows."""

    heading: str
    heading_score: float
    number: int | None
    total: int | None
    clock: str
    rows: tuple[RawRow, ...]
    right: float
    """Where the rightmost value ends, in pixels along the rows."""
    top: tuple[Piece, ...] = ()
    """The pieces of the top row; the page number is the last one where there is one."""

    @property
    def left(self) -> float:
        """Where labels begin, in pixels along the rows; 0 without rows."""
        return min((row.label.left for row in self.rows), default=0.0)


def screen(lines: Sequence[Line]) -> Screen:
    """The lines (reading order, with rows) as heading and rows; empty without legible text."""
    rows = pieces_in_rows(lines)
    spoken = [row for row in rows if any(legible(piece) for piece in row)]
    if not spoken:
        return Screen("", 0.0, None, None, "", (), 0.0)
    top, rest = spoken[0], spoken[1:]
    heading, score, number, total = heading_of(top)
    if not heading and rest and sum(legible(piece) for piece in rest[0]) == 1:
        # On a tilted screen the title may count as a row of its own below the page's number.
        heading, score, _, _ = heading_of(rest[0])
        rest = rest[1:]
    clock = next(
        (match[0] for row in spoken for piece in row if (match := CLOCK.search(piece.text))), ""
    )
    bodies = _label_rows(rest)
    colon = _share_of_colons(bodies) > 0.5
    split = [_split(row, colon) for row in bodies]
    parsed = _at_column([row for row in split if row is not None])
    right = max((p.right for r in bodies for p in r if legible(p)), default=0.0)
    spoken_top = tuple(piece for piece in top if legible(piece))
    return Screen(heading, score, number, total, clock, tuple(parsed), right, spoken_top)


def _label_rows(rows: Sequence[Sequence[Piece]]) -> list[Sequence[Piece]]:
    """The rows whose first text stands on the edge that most labels share.

    Status lines go out, too: they are lower than the rest and show a clock.
    """
    begun = [(row, [piece for piece in row if legible(piece)]) for row in rows]
    begun = [(row, spoken) for row, spoken in begun if spoken]
    if not begun:
        return []
    firsts = [spoken[0] for _, spoken in begun]
    usual = float(np.median([piece.height for piece in firsts]))
    edge = _edge(np.array([[p.left, p.box[0][1], p.height] for p in firsts], dtype=np.float64))
    kept: list[Sequence[Piece]] = []
    for (row, spoken), on_edge in zip(begun, edge, strict=True):
        clock = any(CLOCK.search(piece.text) for piece in spoken[1:])
        status = clock and spoken[0].height < 0.9 * usual
        if on_edge and not status:
            start = row.index(spoken[0])
            kept.append(row[start:])
    return kept


def _edge(points: NDArray[np.float64]) -> list[bool]:
    """Which of n points (left, height on the picture, text height) stand on the line that most
    of them share."""
    best: NDArray[np.bool_] = np.ones(len(points), dtype=np.bool_)
    most = 0.0
    for i in range(len(points)):
        for j in range(i + 1, len(points)):
            rise = points[j, 1] - points[i, 1]
            if rise < 1.0:
                continue
            slope = (points[j, 0] - points[i, 0]) / rise
            off = points[:, 0] - points[i, 0] - slope * (points[:, 1] - points[i, 1])
            near = np.abs(off) < 0.8 * points[:, 2]
            count = float(near.sum()) - 0.2 * abs(slope)
            if abs(slope) < 0.7 and count > most:
                best, most = near, count
    return [bool(flag) for flag in best]


def _share_of_colons(rows: Sequence[Sequence[Piece]]) -> float:
    with_colon = [row for row in rows if _COLON.search(row[0].text)]
    return len(with_colon) / len(rows) if rows else 0.0


def _split(row: Sequence[Piece], colon: bool) -> RawRow | None:
    """Label and value of a row; what is not legible is drawn."""
    spoken = [piece for piece in row if piece.score >= LEGIBLE and piece.text.strip(LEADERS)]
    drawn = tuple(piece for piece in row if piece not in spoken)
    if not spoken:
        return None
    label, values = spoken[0], spoken[1:]
    if colon and (match := _COLON.search(label.text)):
        label, behind = cut_piece(label, match.start(), match.end())
        values = [*([behind] if behind else []), *values]
    elif colon and any(_COLON.search(piece.text) for piece in values):
        # A label in several pieces runs on until the colon.
        while values and _COLON.search(label.text) is None:
            label, values = together(label, values[0]), values[1:]
        if match := _COLON.search(label.text):
            label, behind = cut_piece(label, match.start(), match.end())
            values = [*([behind] if behind else []), *values]
    bare = label.text.strip(LEADERS)
    if sum(letter.isalnum() for letter in bare) < 2:
        return None
    at = label.text.index(bare)
    label = replace(label, text=bare, places=label.places[at : at + len(bare)])
    value: Piece | None = None
    for piece in values:
        value = piece if value is None else together(value, piece)
    return RawRow(label, value, drawn)


def _at_column(rows: list[RawRow]) -> list[RawRow]:
    """Rows read as one text, cut where the other rows' values begin in one column."""
    starts = [row.value.left for row in rows if row.value is not None]
    if len(starts) < 3 or len(starts) == len(rows):
        return rows
    column, height = float(np.median(starts)), rows[0].label.height
    if float(np.mean(np.abs(np.array(starts) - column) < 1.2 * height)) < 0.7:
        return rows
    mended = []
    for row in rows:
        label, wide = row.label, row.label.right - row.label.left
        if row.value is None and label.right > column + height:
            places = [
                (abs(label.left + wide * at / len(label.text) - column), at)
                for at, sign in enumerate(label.text)
                if sign == " "
            ]
            off, at = min(places, default=(wide, 0))
            if off < 1.5 * height:
                head, value = cut_piece(label, at, at + 1)
                row = RawRow(head, value, row.drawn)
        mended.append(row)
    return mended
