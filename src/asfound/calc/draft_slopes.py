"""A screen whose rows were joined one row off: told by the rows it leaves over, and put right.

Where labels are short and values far away, a slope that is a little wrong joins each label to
the value of the row above or below. Title and page number, or name and clock, then stand alone.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from asfound.calc.draft_heading import only_number
from asfound.calc.textlines import Line, in_rows, level

OWN = 3.0
"""Rows that a slope one row off the lines' own weighs."""

LONE = 3.0
"""Rows that a page's number without a title weighs."""

_FAR = 6.0
"""Line heights between the first and the last text of a row from which its slope matters."""


def regrouped(
    lines: Sequence[Line], fit: NDArray[np.float64]
) -> tuple[tuple[Line, ...], NDArray[np.float64]]:
    """The lines in rows with the slope, of the one fitted and those a row off, that leaves the
    fewest rows and agrees with the lines' own; and that slope (see ``textlines.row_slopes``)."""
    step = _one_row(lines, fit)
    if step is None:
        return tuple(lines), fit
    own = _own(lines, fit)
    best, chosen = tuple(lines), fit
    least = _cost(best) + OWN * abs(float(fit[0]) - own) / step
    for way in (-1.0, 1.0, -0.75, 0.75, -1.25, 1.25):
        other = np.array([fit[0] + way * step, *fit[1:]])
        tried = tuple(in_rows(lines, other))
        cost = _cost(tried) + OWN * abs(float(other[0]) - own) / step
        if cost < least:
            best, chosen, least = tried, other, cost
    return best, chosen


def _own(lines: Sequence[Line], fit: NDArray[np.float64]) -> float:
    """The slope at the fit's centre that the longer lines have by themselves."""
    _, b, c, x0, y0 = fit
    found = []
    for line in lines:
        quad = np.array(line.quad)
        if line.right - line.left > 3 * line.height:
            x, y = quad.mean(axis=0) - (x0, y0)
            along = (quad[1] - quad[0] + quad[2] - quad[3]) / 2
            found.append(along[1] / along[0] - b * x - c * y)
    return float(np.median(found)) if found else float(fit[0])


def _cost(lines: Sequence[Line]) -> float:
    """Rows, and more where the page's number stands alone at the top: its title is below."""
    rows = len({line.row for line in lines})
    top = " ".join(line.text for line in lines if line.row == lines[0].row)
    return rows + LONE * (only_number(top) is not None)


def _one_row(lines: Sequence[Line], fit: NDArray[np.float64]) -> float | None:
    """The change of slope that moves the far ends of rows by one row; None when rows are short."""
    rows: dict[int, list[Line]] = {}
    for line in lines:
        rows.setdefault(line.row, []).append(line)
    far = [
        row[-1].left - row[0].left
        for row in rows.values()
        if len(row) > 1 and row[-1].left - row[0].right > _FAR * row[0].height
    ]
    if len(far) < 2 or len(rows) < 4:
        return None
    starts = np.array([np.mean(row[0].quad, axis=0) for row in rows.values()])
    pitch = float(np.median(np.diff(np.sort(level(starts, fit)))))
    return pitch / float(np.median(far))
