"""Frames of a clip: how sharp they are, and whether two show the same thing in the same place."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

Luma = NDArray[np.uint8]
Signature = NDArray[np.float32]

LONG_SIDE = 640
"""Pixels of the longer side of a signature: a menu's letters are still several pixels high."""

_TILE = 40
_REACH = 4
_GRAIN = 5.0
"""Spread (grey levels) that a tile must have in a signature to count: less is noise."""


_LEAST_FIT = 0.4
"""Least correlation of a tile in frames of one page; measured on simulated clips: 0.5 and more
between neighbouring frames of a page, 0.0 to 0.7 over a change of page."""


def luma_of(pixels: NDArray[np.uint8]) -> Luma:
    """Luma (ITU-R BT.601) of RGB pixels."""
    return np.asarray(cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY), np.uint8)


def sharpness(luma: Luma) -> float:
    """Variance of the Laplacian (Pech-Pacheco et al., ICPR 2000), over a grid of windows: the
    mean of the sharper half, so that a dark cab around the monitor does not count."""
    edges = cv2.Laplacian(luma, cv2.CV_32F)
    rows, columns = (max(1, edges.shape[axis] // 8) for axis in (0, 1))
    spread = [
        float(edges[top : top + rows, left : left + columns].var())
        for top in range(0, edges.shape[0] - rows + 1, rows)
        for left in range(0, edges.shape[1] - columns + 1, columns)
    ]
    spread.sort()
    return float(np.mean(spread[len(spread) // 2 :]))


def signature(luma: Luma) -> Signature:
    """The frame's fine detail at LONG_SIDE: (height, width), mean about 0, grey levels."""
    scale = min(1.0, LONG_SIDE / max(luma.shape))
    size = (max(1, round(luma.shape[1] * scale)), max(1, round(luma.shape[0] * scale)))
    small = cv2.resize(luma, size, interpolation=cv2.INTER_AREA).astype(np.float32)
    return np.asarray(small - cv2.GaussianBlur(small, (0, 0), 8.0), np.float32)


def changed(one: Signature, other: Signature) -> bool:
    """True when two frames surely differ: another page, or the phone moved to another place.

    The frames are laid over each other; tiles with detail may move a little to fit. One tile
    that fits nowhere is enough. Two pages that differ in a digit can look alike: False only
    means that no difference is sure.
    """
    if one.shape != other.shape:
        return True
    height, width = one.shape
    if min(height, width) < _TILE + 2 * _REACH:
        return False
    window = cv2.createHanningWindow((width, height), cv2.CV_32F)
    (across, down), _ = cv2.phaseCorrelate(one, other, window)
    dx, dy = round(across), round(down)
    if abs(dx) > width // 3 or abs(dy) > height // 3:
        dx = dy = 0  # nothing common was found; the tiles will tell
    fits = (
        _fit(one, other, (top, left), (dx, dy))
        for top in range(_REACH, height - _TILE - _REACH, _TILE)
        for left in range(_REACH, width - _TILE - _REACH, _TILE)
    )
    return any(fit is not None and fit < _LEAST_FIT for fit in fits)


def _fit(
    one: Signature, other: Signature, corner: tuple[int, int], move: tuple[int, int]
) -> float | None:
    """The best correlation of a tile within reach; None outside the frame and without detail."""
    top, left = corner
    tile = one[top : top + _TILE, left : left + _TILE]
    y, x = top + move[1] - _REACH, left + move[0] - _REACH
    size = _TILE + 2 * _REACH
    if y < 0 or x < 0 or y + size > other.shape[0] or x + size > other.shape[1]:
        return None
    around = other[y : y + size, x : x + size]
    if max(float(tile.std()), float(around.std())) < _GRAIN:
        return None
    return float(cv2.matchTemplate(around, tile, cv2.TM_CCOEFF_NORMED).max())
