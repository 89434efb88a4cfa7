"""How noisy a picture is: the standard deviation of its noise in code values.

J. Immerkaer, "Fast noise variance estimation", Computer Vision and Image Understanding 64(2),
1996: the mean magnitude of the picture under a mask that no plane and no straight edge passes,
times sqrt(pi/2)/6. Coders take the finest noise away first, so the picture is averaged over 2 x 2
pixels, which halves white noise, and the figure doubled. Texture passes the mask, too: the calmest
blocks of the picture speak.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

Grey = NDArray[np.float32]

MASK = np.array([[1, -2, 1], [-2, 4, -2], [1, -2, 1]], np.float32)
BLOCK = 8
"""Side of the blocks that are measured each for itself [px of the averaged picture]."""
CALMEST = 0.25
"""The block below which this share of all lies speaks for the picture (own choice)."""
LOW, HIGH = 18.0, 233.0
"""Blocks with a mean outside are left out: clipping hides noise (limited range)."""
LARGEST = 640
"""Larger pictures are measured in a window of so many pixels a side in their middle."""


def noise_sigma(luma: NDArray[np.uint8]) -> float:
    """The noise's standard deviation; NaN when every block is clipped or there is none.

    ``luma``: height x width in its own pixels: averaging would hide noise.
    """
    height, width = luma.shape
    top, left = max(0, (height - LARGEST) // 2), max(0, (width - LARGEST) // 2)
    part = luma[top : top + LARGEST, left : left + LARGEST]
    columns, rows = part.shape[1] // (2 * BLOCK), part.shape[0] // (2 * BLOCK)
    if rows < 2 or columns < 2:
        return float("nan")
    half = _average(part[: rows * 2 * BLOCK, : columns * 2 * BLOCK], columns * BLOCK, rows * BLOCK)
    passed = np.abs(cv2.filter2D(half, cv2.CV_32F, MASK, borderType=cv2.BORDER_REFLECT))
    means, light = _average(passed, columns, rows), _average(half, columns, rows)
    fit = (light > LOW) & (light < HIGH)
    if not fit.any():
        return float("nan")
    return float(2 * np.sqrt(np.pi / 2) / 6 * np.quantile(means[fit], CALMEST))


def _average(values: NDArray[np.uint8] | NDArray[np.float32], width: int, height: int) -> Grey:
    floats = values.astype(np.float32)
    small = cv2.resize(floats, (width, height), interpolation=cv2.INTER_AREA)
    return np.asarray(small, np.float32)
