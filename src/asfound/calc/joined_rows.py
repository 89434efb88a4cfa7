"""Which label goes with which value: the lines of a screen joined to rows.

Where labels are short and values far away, a direction that is a little wrong joins each label
to the value of the row above or below. So the directions round the fitted one are tried too,
among them those that are a row off at the top, at the bottom or everywhere. The right one leaves
the fewest rows, has the lines of a row on one level, and is the one that the lines point in.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from asfound.calc.draft_heading import only_number
from asfound.calc.textlines import Line, grouped, in_rows, level, row_slopes, row_spans, sizes

Floats = NDArray[np.float64]

OWN = 8.0
"""Rows that a direction one row off the lines' own weighs."""

UNEVEN = 8.0
"""Rows that it weighs when the lines of a row are, in the mean, a row's distance off its level."""

LONE = 1.0
"""Rows that a page's number without a title weighs."""

CLEAR = 0.8
"""Rows by which the best must be ahead of what joins a row's lines otherwise."""

ASTRAY = 0.25
"""Share of the distance between rows by which no line of a row may lie off the others' level."""

_FAR = 6.0
"""Line heights between the first and the last text of a row from which its slope matters."""

_SHIFTS = np.arange(-2.0, 2.1, 0.25)
"""Rows by which the direction tried is off, at the middle and, besides, at top and bottom."""

_MOST = 2.5
"""Rows by which it is off, at most, at either end."""


@dataclass(frozen=True, slots=True)
class JoinedRows:
    """The lines in reading order with their rows, and the direction of the rows (see
    ``textlines.row_slopes``). ``unclear``: numbers of the rows whose lines might as well belong
    to a neighbouring row."""

    lines: tuple[Line, ...]
    slopes: Floats
    unclear: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class _Known:
    """What the lines are measured by: middles, heights, own slopes and their weights; ``step``:
    change of slope that moves the far ends of rows by one row; ``pitch``: rows' distance."""

    texts: tuple[str, ...]
    middles: Floats
    heights: Floats
    own: Floats
    weights: Floats
    step: float
    pitch: float


def joined_rows(lines: Sequence[Line]) -> JoinedRows:
    """The lines joined to rows the most likely way; any order."""
    if not lines:
        return JoinedRows((), np.zeros(5))
    quads = np.array([line.quad for line in lines], dtype=np.float64)
    fit = row_slopes(quads)
    known = _known(lines, quads, fit)
    if known is None:
        placed, fit = _refined(lines, quads, fit)
        return JoinedRows(placed, fit)
    ways = sorted((_way(known, other) for other in _around(known, fit)), key=lambda way: way[0])
    least, rows, chosen = ways[0]
    others = [joined for cost, joined, _ in ways if cost - least < CLEAR]
    placed, fit = _refined(lines, quads, chosen)
    torn = {lines[index].quad for index in _joined_otherwise(rows, others)}
    unclear = frozenset(line.row for line in placed if line.quad in torn)
    return JoinedRows(placed, fit, unclear | _astray(placed, fit, known.pitch))


def _joined_otherwise(rows: NDArray[np.intp], others: Sequence[NDArray[np.intp]]) -> frozenset[int]:
    """Lines (their indices) of rows that are not a row in each of the ``others``."""

    def members(joined: NDArray[np.intp]) -> set[frozenset[int]]:
        return {
            frozenset(int(i) for i in np.flatnonzero(joined == row)) for row in np.unique(joined)
        }

    torn = set[frozenset[int]]()
    for joined in others:
        torn |= members(rows) - members(joined)
    return frozenset().union(*torn)


def _refined(lines: Sequence[Line], quads: Floats, fit: Floats) -> tuple[tuple[Line, ...], Floats]:
    """The lines joined by ``fit``, and the direction that these rows have over their length."""
    spans = row_spans(in_rows(lines, fit))
    better = row_slopes(np.concatenate([quads, spans]))
    return tuple(in_rows(lines, better)), better


def _known(lines: Sequence[Line], quads: Floats, fit: Floats) -> _Known | None:
    """None when rows are few or short: then a slope a little off joins no wrong lines."""
    apart = _apart(in_rows(lines, fit), fit)
    if apart is None:
        return None
    pitch, far = apart
    along = (quads[:, 1] - quads[:, 0] + quads[:, 2] - quads[:, 3]) / 2
    own = along[:, 1] / np.where(np.abs(along[:, 0]) < 1e-6, 1e-6, along[:, 0])
    widths, heights = sizes(quads)
    weights = np.clip(widths / np.maximum(heights, 1.0) - 1.0, 0.0, 30.0)
    if pitch <= 0 or weights.sum() == 0:
        return None
    texts = tuple(line.text for line in lines)
    return _Known(texts, quads.mean(axis=1), heights, own, weights, pitch / far, pitch)


def _apart(placed: Sequence[Line], fit: Floats) -> tuple[float, float] | None:
    """Distance from row to row, and from labels to their values; None where these are near."""
    rows: dict[int, list[Line]] = {}
    for line in placed:
        rows.setdefault(line.row, []).append(line)
    if len(rows) < 4:
        return None
    first = [row[0] for row in rows.values()]
    far = [
        row[-1].left - row[0].left
        for row in rows.values()
        if len(row) > 1 and row[-1].left - row[0].right > _FAR * row[0].height
    ]
    if len(far) < 2:
        # A slope that is far off joins nothing at all; then what stands left are labels.
        lefts = np.array([line.left for line in placed])
        left = lefts <= lefts.min() + 0.25 * np.ptp(lefts)
        first = [line for line, is_left in zip(placed, left, strict=True) if is_left]
        far = [float(one - np.median(lefts[left])) for one in lefts[~left]]
        if len(first) < 4 or len(far) < 2 or np.median(far) < 2 * _FAR * placed[0].height:
            return None
    starts = np.array([np.mean(line.quad, axis=0) for line in first])
    pitch = float(np.median(np.diff(np.sort(level(starts, fit)))))
    return pitch, float(np.median(far))


def _around(known: _Known, fit: Floats) -> Iterator[Floats]:
    """The fitted direction, and those by some part of a row beside it."""
    a, _, c, x0, y0 = fit
    half = max(float(np.ptp(known.middles[:, 1])) / 2, 1.0)
    for middle in _SHIFTS:
        for ends in _SHIFTS:
            if abs(middle) + abs(ends) <= _MOST:
                one, other = a + middle * known.step, c + ends * known.step / half
                yield np.array([one, -one * other, other, x0, y0])


def _way(known: _Known, fit: Floats) -> tuple[float, NDArray[np.intp], Floats]:
    """What a direction costs, in rows; the rows it makes; and itself."""
    where = level(known.middles, fit)
    rows = grouped(where, known.heights)
    means = np.bincount(rows, where) / np.bincount(rows)
    uneven = float(np.abs(where - means[rows]).mean()) / known.pitch
    a, _, c, x0, y0 = fit
    x, y = (known.middles - (x0, y0)).T
    off = np.abs(known.own - (a + c * y) / (1 + c * x)) / known.step
    off = float(np.average(np.minimum(off, 1.0), weights=known.weights))
    first = np.flatnonzero(rows == 0)
    ordered = first[np.argsort(known.middles[first, 0])]
    lone = only_number(" ".join(known.texts[i] for i in ordered)) is not None
    return len(means) + OWN * off + UNEVEN * uneven + LONE * lone, rows, fit


def _astray(lines: Sequence[Line], fit: Floats, pitch: float) -> frozenset[int]:
    """Rows with a line that lies too far off the others' level to be surely theirs."""
    where = level(np.array([np.mean(line.quad, axis=0) for line in lines]), fit)
    rows = np.array([line.row for line in lines])
    return frozenset(
        int(row) for row in set(rows) if float(np.ptp(where[rows == row])) > ASTRAY * pitch
    )
