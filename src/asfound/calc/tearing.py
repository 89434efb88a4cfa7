"""Seams across a picture: where a cable or a coder has torn it, or it rolls.

A seam is a line between two rows along which luma jumps over most of the width, while the rows
on either side pass smoothly. The horizon and the edge of a bonnet are no seams: they are not
straight along one row, and they stay where they are, which the caller sees over time.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.sources import SEAM_WIDTH

WIDTH = 320
"""Rows are averaged to so many values; the number of rows stays as it is up to ROWS."""
ROWS = 360
FEWEST_ROWS = 160
"""Smaller pictures are not judged: their edges are seams as well."""
JUMP = 5.0
"""Code values by which luma jumps at a seam (own choice)."""
TIMES = 3.0
"""A jump is so many times the change from row to row beside it (own choice)."""
MATCH, GAIN = 0.9, 0.15
"""Rows beside a seam fit this well when one is shifted, and so much better than unshifted."""
REACH = 0.15
"""Longest shift that is tried, as a share of the width."""
EDGE_SHARE = 1 / 9
"""Rows at top and bottom that are left out: burned-in lines."""


@dataclass(frozen=True, slots=True)
class Seam:
    """``at``: share of the height; ``jump``: share of the width that jumps; ``shift`` [% of the
    width] by which the rows below fit those above, 0 where no shift does."""

    at: float
    jump: float
    shift: float


def seams(luma: NDArray[np.uint8]) -> tuple[Seam, ...]:
    """The seams of a picture (height x width), strongest first, five at most."""
    rows = min(ROWS, luma.shape[0])
    if rows < FEWEST_ROWS:
        return ()
    small = cv2.resize(luma, (min(WIDTH, luma.shape[1]), rows), interpolation=cv2.INTER_AREA)
    values = small.astype(np.float32)
    steps = np.abs(np.diff(values, axis=0))
    beside = np.maximum(steps[:-4], steps[4:])
    middle = steps[2:-2]
    # Both neighbours of a one-row jump may share in it after coding: rows two away are asked.
    jumps = ((middle >= JUMP) & (middle >= TIMES * beside)).mean(axis=1)
    jumps = np.concatenate(([0.0, 0.0], jumps, [0.0, 0.0]))
    edge = int(rows * EDGE_SHARE)
    jumps[:edge] = jumps[len(jumps) - edge :] = 0
    found = []
    for at in np.argsort(jumps)[::-1][:5]:
        if jumps[at] < SEAM_WIDTH.value:
            break
        near = jumps[max(0, at - 3) : at + 4].max()
        if jumps[at] == near:
            found.append(Seam(float((at + 1) / rows), float(jumps[at]), _shift(values, int(at))))
    return tuple(found)


def _shift(values: NDArray[np.float32], at: int) -> float:
    """By how much [% of the width] the rows below the seam fit those above; 0: no shift does."""
    above = values[max(0, at - 2) : at].mean(axis=0)
    below = values[at + 2 : at + 4].mean(axis=0)
    width = len(above)
    reach = int(width * REACH)
    inner = above[reach : width - reach]
    scores = np.array([_alike(inner, below[at : at + len(inner)]) for at in range(2 * reach + 1)])
    best = int(scores.argmax())
    if scores[best] < MATCH or scores[best] - scores[reach] < GAIN or abs(best - reach) < 3:
        return 0.0
    return 100 * (best - reach) / width


def _alike(one: NDArray[np.float32], two: NDArray[np.float32]) -> float:
    one, two = one - one.mean(), two - two.mean()
    return float((one * two).sum() / max(1e-6, float(np.sqrt((one**2).sum() * (two**2).sum()))))
