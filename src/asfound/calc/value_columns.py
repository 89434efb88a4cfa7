"""Where the values of a page line up, and what that tells of rows that glare hides in part.

Most menus write all values of a page from one column on, or up to one. Then a row whose place in
that column is clear ground is blank, whatever shines elsewhere on it; and a row whose label is
hidden is told by its place between its neighbours.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np
from numpy.typing import NDArray

from asfound.calc.match_page import LEADERS, PageMatch
from asfound.calc.textlines import Line
from asfound.calc.value_spots import NOISE, Spot

Floats = NDArray[np.float64]

IN_LINE = 0.3
"""Distance from the column, in line heights, up to which a value begins (or ends) there."""

_LEAST, _SHARE = 4, 0.7
"""Values, and their share of all on the page, that must line up to make a column."""

_STEEPEST = 0.6
"""Pixels along the rows by which a column moves from one pixel to the next down the page."""

_ROOM = (0.6, 2.2)
"""How far the place where a value would begin reaches before and behind the column's edge, in
line heights."""

_PITCH = 0.12
"""Share of the rows' distance by which rows beside a hidden one may be too near or too far."""

_HIDDEN = 3
"""Rows in a row that may be hidden."""

_LEVEL = 0.3
"""Share of the rows' distance by which a line may lie off its row."""

_JOINED = 1.0
"""Room between two pieces of one value, in line heights."""


@dataclass(frozen=True, slots=True)
class Columns:
    """``left``, ``right``: where values begin and end along their rows, as (place, shift): place +
    shift x the row's level, in pixels; None where they don't line up."""

    left: tuple[float, float] | None = None
    right: tuple[float, float] | None = None

    def begins(self, place: float, level: float, height: float) -> bool:
        """True when a value that begins at ``place`` begins with the others."""
        return self.left is not None and abs(place - _at(self.left, level)) <= IN_LINE * height

    def ends(self, place: float, level: float, height: float) -> bool:
        """True when a value that ends at ``place`` ends with the others."""
        return self.right is not None and abs(place - _at(self.right, level)) <= IN_LINE * height

    def first_sign(self, level: float, height: float) -> tuple[float, float] | None:
        """From where to where the first (else the last) sign of any value on the row stands."""
        near, far = _ROOM
        if self.left is not None:
            edge = _at(self.left, level)
            return edge - near * height, edge + far * height
        if self.right is not None:
            edge = _at(self.right, level)
            return edge - far * height, edge + near * height
        return None


def value_columns(
    spots: Sequence[Spot | None], lines: Sequence[Line], levels: Sequence[float]
) -> Columns:
    """The columns of a page's values. ``levels``: of each line (see ``textlines.level``)."""
    lefts: list[tuple[float, float]] = []
    rights: list[tuple[float, float]] = []
    heights: list[float] = []
    for spot in spots:
        if spot is None or not spot.pieces:
            continue
        (first, start), (last, _) = spot.pieces[0], spot.pieces[-1]
        heights.append(lines[first].height)
        rights.append((levels[last], lines[last].right))
        if start == 0:
            lefts.append((levels[first], lines[first].left))
    if not heights:
        return Columns()
    near = IN_LINE * float(np.median(heights))
    left, on_left = _column(lefts, near, len(heights))
    right, on_right = _column(rights, near, len(heights))
    # A few short values that end in one column may seem to begin in one, too.
    return Columns(left if on_left >= on_right else None, right if on_right >= on_left else None)


def placed_spots(
    match: PageMatch,
    lines: Sequence[Line],
    levels: Sequence[float],
    spots: Sequence[Spot | None],
    columns: Columns,
) -> dict[int, Spot]:
    """Values of the fields whose labels were not found, by their place between two that were: the
    field's number and its value's spot."""
    used = {hit.line for hit in match.hits if hit is not None}
    used |= {hit.start for hit in match.hits if hit is not None}
    used |= {index for spot in spots if spot is not None for index, _ in spot.pieces}
    limit = max((line.right for line in lines if line.score >= NOISE), default=0.0)
    found: dict[int, Spot] = {}
    for number, level, pitch in _hidden_rows(match, levels):
        row = sorted(
            (
                index
                for index, line in enumerate(lines)
                if index not in used
                and abs(levels[index] - level) < _LEVEL * pitch
                and line.score >= NOISE
                and line.text.strip(LEADERS)
            ),
            key=lambda index: lines[index].left,
        )
        pieces = _in_column(row, lines, level, columns)
        if pieces:
            last = lines[pieces[-1]]
            after = None
            if limit > last.right + 0.5 * last.height:
                after = (last.right + 0.1 * last.height, limit + 0.15 * last.height)
            found[number] = Spot(tuple((index, 0) for index in pieces), None, False, after)
    return found


def _hidden_rows(match: PageMatch, levels: Sequence[float]) -> Iterator[tuple[int, float, float]]:
    """Fields without a label between two that have one as far away as their number says: number,
    level, and the rows' distance."""
    known = [(n, levels[hit.start]) for n, hit in enumerate(match.hits) if hit is not None]
    steps = [below - above for (a, above), (b, below) in pairwise(known) if b == a + 1]
    if len(steps) < 2:
        return
    usual = float(np.median(steps))
    for (a, above), (b, below) in pairwise(known):
        pitch = (below - above) / (b - a)
        if 1 < b - a <= _HIDDEN + 1 and abs(pitch - usual) <= _PITCH * usual:
            for number in range(a + 1, b):
                yield number, above + (number - a) * pitch, pitch


def _in_column(
    row: Sequence[int], lines: Sequence[Line], level: float, columns: Columns
) -> tuple[int, ...]:
    """Those of a row's lines that make up a value in the page's column; none without one."""
    if columns.left is not None:
        kept = [
            index
            for index in row
            if lines[index].left > _at(columns.left, level) - IN_LINE * lines[index].height
        ]
        first = lines[kept[0]] if kept else None
        begins = first is not None and columns.begins(first.left, level, first.height)
        return tuple(kept) if begins else ()
    if columns.right is None or not row:
        return ()
    last = lines[row[-1]]
    if not columns.ends(last.right, level, last.height):
        return ()
    kept = [row[-1]]
    for index in reversed(row[:-1]):
        if lines[kept[0]].left - lines[index].right > _JOINED * last.height:
            break
        kept.insert(0, index)
    return tuple(kept)


def _column(
    edges: Sequence[tuple[float, float]], near: float, count: int
) -> tuple[tuple[float, float] | None, int]:
    """The straight column (place, shift) that most edges (level, place) of ``count`` values lie
    on, within ``near``, and how many; (None, 0) without one."""
    points = np.array(edges, dtype=np.float64).reshape(-1, 2)
    best: NDArray[np.bool_] | None = None
    for one, other in combinations(range(len(points)), 2):
        (y0, x0), (y1, x1) = points[one], points[other]
        shift = (x1 - x0) / (y1 - y0) if abs(y1 - y0) > 1e-6 else np.inf
        if abs(shift) > _STEEPEST:
            continue
        off = np.abs(points[:, 1] - x0 - shift * (points[:, 0] - y0))
        lies = off <= near
        if lies.sum() < max(_LEAST, _SHARE * count):
            continue
        if best is None or lies.sum() > best.sum():
            best = np.asarray(lies, dtype=np.bool_)
    if best is None:
        return None, 0
    levels, places = points[best].T
    middle = float(levels.mean())
    spread = float(((levels - middle) ** 2).sum())
    shift = float(((levels - middle) * places).sum()) / spread if spread > 0 else 0.0
    return (float(places.mean()) - shift * middle, shift), int(best.sum())


def _at(column: tuple[float, float], level: float) -> float:
    return column[0] + column[1] * level
