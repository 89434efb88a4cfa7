"""Where the value of each label stands: beside it, under it, or nowhere yet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from asfound.calc.match_page import LEADERS, LabelHit, PageMatch
from asfound.calc.textlines import Line, stretch
from asfound.model.reading import Box

NOISE = 0.5
"""Lines whose mean score is below this are drawings (lamps, bars), not text."""


@dataclass(frozen=True, slots=True)
class Spot:
    """The value's pieces: (line index, first character).

    ``gap``: from where to where (pixels along the row) the row is empty behind the label, for
    a closer look. ``noise``: something illegible stands there. ``before`` and ``after``: the
    empty stretches on both sides of the value.
    """

    pieces: tuple[tuple[int, int], ...]
    gap: tuple[float, float] | None
    noise: bool
    after: tuple[float, float] | None = None
    before: tuple[float, float] | None = None


def value_spots(match: PageMatch, lines: Sequence[Line]) -> tuple[Spot | None, ...]:
    """One spot per field of the match; None where the label was not found."""
    starts = {hit.start for hit in match.hits if hit is not None}
    beside = [None if hit is None else _beside(hit, lines, starts, lines) for hit in match.hits]
    bare = [spot is not None and not spot.pieces for spot in beside]
    if sum(bare) * 2 <= sum(spot is not None for spot in beside):
        return tuple(beside)
    used = {hit.line for hit in match.hits if hit is not None} | starts
    under = tuple(
        spot if spot is None or hit is None or spot.pieces else _under(hit, lines, used, spot)
        for hit, spot in zip(match.hits, beside, strict=True)
    )
    found = sum(spot is not None and bool(spot.pieces) for spot in under) - (
        len(beside) - sum(bare) - beside.count(None)
    )
    # Most labels have nothing beside them and most of those something underneath: this menu
    # writes values underneath. Else it is a page of empty rows.
    return under if found * 2 > sum(bare) else tuple(beside)


def piece_text(line: Line, first: int) -> tuple[str, tuple[float, ...]]:
    """The line's text from character ``first`` on without leaders, and its scores."""
    text = line.text[first:]
    skipped = len(text) - len(text.lstrip(LEADERS))
    return text[skipped:], line.scores[first + skipped :]


def joined(pieces: Sequence[tuple[str, tuple[float, ...]]]) -> tuple[str, tuple[float, ...]]:
    """Several pieces as one text with spaces between."""
    text = ""
    scores: tuple[float, ...] = ()
    for piece, values in pieces:
        if piece:
            text, scores = (f"{text} {piece}", (*scores, 1.0, *values)) if text else (piece, values)
    return text, scores


def piece_box(line: Line, first: int) -> Box:
    """Outline of the line from character ``first`` on, leaders left out."""
    kept = len(piece_text(line, first)[0])
    begin = len(line.text) - kept
    if first == 0 or begin == 0 or not kept:
        return line.quad
    # Half way between the first character and the one before it, but not far from the first.
    place = line.places[begin]
    share = max((line.places[begin - 1] + place) / 2, place - 0.6 * line.height / _length(line))
    return stretch(line.quad, line.left + share * (line.right - line.left), line.right)


def _length(line: Line) -> float:
    return max(line.right - line.left, 1.0)


def _beside(hit: LabelHit, lines: Sequence[Line], starts: set[int], page: Sequence[Line]) -> Spot:
    label = lines[hit.line]
    pieces, noise = [], False
    if piece_text(label, hit.cut)[0].strip():
        pieces.append((hit.line, hit.cut))
    limit = max((line.right for line in page if line.score >= NOISE), default=label.right)
    for index in range(hit.line + 1, len(lines)):
        line = lines[index]
        if line.row != label.row:
            break
        if index in starts:
            limit = line.left
            break
        if line.score < NOISE:
            noise = True
        elif piece_text(line, 0)[0].strip(LEADERS):
            pieces.append((index, 0))
    gap = None
    if not pieces and limit > label.right + label.height:
        # A leader behind the label belongs to the label's line; the value comes after it.
        gap = (label.right + 0.2 * label.height, limit + 0.15 * label.height)
    after = None
    if pieces and limit > lines[pieces[-1][0]].right + 0.5 * label.height:
        last = lines[pieces[-1][0]]
        after = (last.right + 0.1 * last.height, limit + 0.15 * label.height)
    before = None
    if pieces and pieces[0][0] != hit.line:
        first = lines[pieces[0][0]]
        before = (label.right + 0.2 * label.height, first.left - 0.1 * first.height)
    return Spot(tuple(pieces), gap, noise, after, before)


def _under(hit: LabelHit, lines: Sequence[Line], used: set[int], spot: Spot) -> Spot:
    label = lines[hit.start]
    for index, line in enumerate(lines):
        near = label.row < line.row <= label.row + 1
        overlaps = line.left < label.right + 2 * label.height and line.right > label.left
        if near and overlaps and index not in used and line.score >= NOISE:
            return Spot(((index, 0),), None, spot.noise)
    # The empty stretch beside the label says nothing where values stand underneath.
    return Spot((), None, spot.noise)
