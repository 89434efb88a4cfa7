"""What is drawn beside a value: a bar, a lamp or tick box, marks on both sides, a mask."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

_HEIGHT = 48
_ABOVE, _CORE, _BELOW = slice(6, 11), slice(21, 27), slice(37, 42)
_SHORTEST, _LONGEST = 2.0, 9.0
"""Heights that a bar is long."""

_DIFFERS = 22.0
"""Levels, 0..255, by which a colour differs from the ground above and below it."""


def _small(strip: NDArray[np.uint8]) -> NDArray[np.float32]:
    high, wide = strip.shape[:2]
    columns = max(4, round(wide * _HEIGHT / max(high, 1)))
    small = cv2.resize(strip, (columns, _HEIGHT), interpolation=cv2.INTER_AREA)
    return np.asarray(cv2.GaussianBlur(small.astype(np.float32), (0, 0), 1.0), np.float32)


def has_bar(strip: NDArray[np.uint8]) -> bool:
    """True when the strip (RGB, one row of the menu) shows a level's bar.

    A bar is one unbroken drawing, longer than any sign, with ground above and below it, that
    begins in the strip: a cursor's bar comes in from its left end.
    """
    small = _small(strip)
    core = small[_CORE].mean(axis=0)
    above, below = small[_ABOVE].mean(axis=0), small[_BELOW].mean(axis=0)
    off = np.minimum(np.abs(core - above).max(axis=1), np.abs(core - below).max(axis=1))
    starts, ends = _runs(off > _DIFFERS)
    long = (ends - starts >= _SHORTEST * _HEIGHT) & (ends - starts <= _LONGEST * _HEIGHT)
    return bool(np.any(long & (starts > 2)))


def inked(strip: NDArray[np.uint8], contrast: float) -> bool:
    """True when a drawing higher than half the strip stands in it; ``contrast`` is the text's
    (levels, 0..255)."""
    if strip.shape[1] < 3 or strip.shape[0] < 3:
        return False
    luma = cv2.cvtColor(strip, cv2.COLOR_RGB2GRAY)
    small = cv2.resize(luma, (max(3, luma.shape[1]), _HEIGHT), interpolation=cv2.INTER_AREA)
    rows = small.astype(np.float32)[6:-6]
    ground = np.median(rows)
    off = np.abs(rows - ground) > max(0.35 * contrast, 16.0)
    high = np.flatnonzero(off.any(axis=1))
    return bool(off.any(axis=0).sum() >= 2 and high.size and high[-1] - high[0] >= 14)


def _runs(flags: NDArray[np.bool_]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """First column of each stretch of True, and the column behind it."""
    steps = np.diff(np.concatenate([[False], flags, [False]]).astype(np.int8))
    return np.flatnonzero(steps == 1), np.flatnonzero(steps == -1)
