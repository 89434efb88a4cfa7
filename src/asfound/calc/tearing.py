"""Seams across a picture: where a cable or a coder has torn it, or it rolls.

A seam is a line between two rows along which luma jumps over most of the width, while the rows
on either side pass smoothly; or the rows below it go on as those above would, shifted sideways.
The horizon and the edge of a bonnet are no seams: no shift makes the rows beside them fit, and
they stay where they are, which the caller sees over time.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.sources import SEAM_SHIFT, SEAM_WIDTH

WIDTH = 320
"""Rows are averaged to so many values; the number of rows stays as it is up to ROWS."""
ROWS = 360
FEWEST_ROWS = 160
"""Smaller pictures are not judged: their edges are seams as well."""
JUMP = 5
"""Code values by which luma jumps at a seam, and at least three times as much as from row to row
beside it (own choices)."""
BROKEN = 4.0
"""Mean square difference across a shifted seam: so many times what it is two rows away, and so
many square code values at least, more than a coder leaves (own choices)."""
MENDED = 0.3
"""The shift leaves no more than this share of that difference (own choice)."""
ALIKE = 0.8
"""Correlation of the rows where one is shifted: what is flat fits anything (own choice)."""
REACH = 0.15
"""Longest shift that is tried, as a share of the width."""
MOST = 6
"""Places in a picture that are looked at for a shift, those that break most."""
EDGE_SHARE = 0.04
"""Rows at top and bottom that are left out."""
TELLING = 0.3
"""A picture shows whether it is torn when a shift would show in this share of its rows."""

NONE = np.zeros(2, np.float32)
"""The two outer rows at either end, which are not judged."""

Pixels = NDArray[np.uint8]
Rows = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Seam:
    """``at``: share of the height; ``jump``: share of the width that jumps; ``shift`` [% of the
    width] by which the rows below fit those above, 0 where no shift does."""

    at: float
    jump: float
    shift: float


@dataclass(frozen=True, slots=True)
class Seams:
    """The seams of a picture, and whether it has enough in it to show any (``told``)."""

    seams: tuple[Seam, ...]
    told: bool


def seams(luma: NDArray[np.uint8]) -> Seams:
    """The seams of a picture (height x width)."""
    rows = min(ROWS, luma.shape[0])
    if rows < FEWEST_ROWS:
        return Seams((), False)
    width = min(WIDTH, luma.shape[1])
    # From twice the width this is the average of two, and four times faster than by area.
    small = np.asarray(cv2.resize(luma, (width, rows), interpolation=cv2.INTER_LINEAR), np.uint8)
    jumps = _jumps(small)
    pairs = np.asarray(cv2.addWeighted(small[:-1], 0.5, small[1:], 0.5, 0), np.uint8)
    broken = _unlike(pairs[:-2], pairs[2:])
    edge = int(rows * EDGE_SHARE)
    shifted = dict(_shifted(pairs, broken, edge))
    found = [
        Seam((at + 1) / rows, float(jumps[at]), shifted.get(at, 0.0))
        for at in range(edge, rows - edge - 1)
        if at in shifted
        or (jumps[at] >= SEAM_WIDTH.value and jumps[at] == jumps[max(0, at - 3) : at + 4].max())
    ]
    aside = max(1, round(2 * SEAM_SHIFT.value / 100 * width))
    asked = slice(edge, len(broken) - edge, 4)
    would = _unlike(pairs[1:-1][asked, aside:], pairs[1:-1][asked, :-aside])
    told = (would >= BROKEN) & (would >= BROKEN * broken[asked])
    return Seams(tuple(found), bool(told.mean() >= TELLING))


def _jumps(small: Pixels) -> Rows:
    """Share of the width that jumps between each row and the next (rows - 1)."""
    steps = cv2.absdiff(small[1:], small[:-1])
    # Both neighbours of a one-row jump may share in it after coding: rows two away are asked.
    beside = cv2.max(steps[:-4], steps[4:])
    # Three times as large: adding is much faster than OpenCV's multiplying of 8 bits.
    least = np.maximum(cv2.add(beside, cv2.add(beside, beside)), np.uint8(JUMP))
    jumping = cv2.compare(steps[2:-2], least, cv2.CMP_GE)
    shares = cv2.reduce(jumping, 1, cv2.REDUCE_AVG, dtype=cv2.CV_32F).ravel() / 255
    return np.concatenate((NONE, shares, NONE))


def _unlike(above: Pixels, below: Pixels) -> Rows:
    """Mean square difference of each row."""
    apart = cv2.absdiff(above, below).astype(np.float32)
    return np.asarray(np.einsum("rc,rc->r", apart, apart) / apart.shape[1], np.float32)


def _shifted(pairs: Pixels, broken: Rows, edge: int) -> Iterator[tuple[int, float]]:
    """(row, shift in % of the width) of seams beside which rows fit when one is shifted.

    ``pairs``: means of each row and the next; ``broken``: how unlike pairs two rows apart are.
    The seam between rows r and r + 1 parts pair r - 1 from pair r + 1.
    """
    usual = np.maximum(broken[:-4], broken[4:])
    middle = broken[2:-2]
    torn = np.where((middle >= BROKEN) & (middle >= BROKEN * usual), middle / (usual + 1), 0)
    torn = np.concatenate((NONE, torn, NONE))
    torn[:edge] = torn[len(torn) - edge :] = 0
    for number in np.argsort(torn)[::-1][:MOST]:
        at = int(number)
        if torn[at] <= 0:
            return
        if torn[at] == torn[max(0, at - 3) : at + 4].max():
            shift = _shift(pairs[at], pairs[at + 2], float(broken[at]))
            if abs(shift) >= SEAM_SHIFT.value:
                yield at + 1, shift


def _shift(above: Pixels, below: Pixels, apart: float) -> float:
    """By how much [% of the width] ``below`` fits ``above``; 0: no shift makes them fit.

    ``apart``: their mean square difference unshifted. Rows overlap less the more one is shifted.
    """
    width = len(above)
    reach = int(width * REACH)
    ground = (float(above.mean()) + float(below.mean())) / 2
    one, two = (row.astype(np.float64) - ground for row in (above, below))
    shifts = np.arange(-reach, reach + 1)
    counts = width - np.abs(shifts)
    # Element width - 1 + k of the full correlation is the sum of two[x + k] times one[x].
    both = np.correlate(two, one, "full")[width - 1 - reach : width + reach]
    first, second = _overlaps(one, shifts), _overlaps(two, -shifts)
    left = (first[1] + second[1] - 2 * both) / counts
    best = int(left.argmin())
    if left[best] > MENDED * apart:
        return 0.0
    count, product = counts[best], both[best] - first[0][best] * second[0][best] / counts[best]
    spread = [sums[1][best] - sums[0][best] ** 2 / count for sums in (first, second)]
    # Enough of what broke lies in the part that is compared.
    if min(spread) < 0.25 * apart * count or product < ALIKE * np.sqrt(spread[0] * spread[1]):
        return 0.0
    return 100 * float(shifts[best]) / width


def _overlaps(row: NDArray[np.float64], shifts: NDArray[np.intp]) -> list[NDArray[np.float64]]:
    """Sum and sum of squares of what is left of a row that is shifted (to the right: its end
    drops out)."""
    out = []
    for values in (row, row * row):
        sums = np.concatenate(([0.0], np.cumsum(values)))
        lows, highs = np.maximum(0, -shifts), len(row) - np.maximum(0, shifts)
        out.append(sums[highs] - sums[lows])
    return out
