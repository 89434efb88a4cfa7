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
CALMEST = 0.1
"""The block below which this share of all lies speaks for the picture (own choice): of a real
picture of leaves or spokes no more may be calm."""
CALMER = 1.25
"""Of white noise alone, all blocks together read so many times what that block does (own trials
with seeded noise of 2 to 20 code values, pictures of 320 to 1280 pixels)."""
LOW, HIGH = 18.0, 233.0
"""Blocks with a mean outside are left out: clipping hides noise (limited range)."""
STRIPS, LONGEST = 12, 640
"""A picture is measured in so many strips, one block high and so many pixels long at most."""


def noise_sigma(luma: NDArray[np.uint8]) -> float:
    """The noise's standard deviation; NaN when every block is clipped or there is none.

    ``luma``: height x width in its own pixels: averaging would hide noise.
    """
    strips = _strips(luma)
    if strips is None:
        return float("nan")
    count, tall, wide = strips.shape
    half = _average(strips.reshape(count * tall, wide), wide // 2, count * tall // 2)
    passed = np.abs(cv2.filter2D(half, cv2.CV_32F, MASK, borderType=cv2.BORDER_REFLECT))
    inner = (passed, half)
    means, light = (
        # The outer rows of a strip lie beside another strip's.
        _average(
            np.ascontiguousarray(one.reshape(count, tall // 2, -1)[:, 1:-1]).reshape(-1, wide // 2),
            wide // 2 // BLOCK, count,
        )
        for one in inner
    )  # fmt: skip
    told = means[(light > LOW) & (light < HIGH)]
    if not len(told):
        return float("nan")
    calm = int(CALMEST * (len(told) - 1))
    return float(2 * np.sqrt(np.pi / 2) / 6 * CALMER * np.partition(told, calm)[calm])


def _strips(luma: NDArray[np.uint8]) -> NDArray[np.uint8] | None:
    """Strips spread evenly over the height, taken from the middle of the width: so many x rows
    x columns; None for a picture that is too small."""
    height, width = luma.shape
    tall = 2 * (BLOCK + 2)
    wide = min(width, LONGEST) // (2 * BLOCK) * 2 * BLOCK
    count = min(STRIPS, height // tall)
    if count < 1 or wide < 4 * BLOCK:
        return None
    left = (width - wide) // 2
    tops = np.linspace(0, height - tall, count).astype(int)
    return np.stack([luma[top : top + tall, left : left + wide] for top in tops])


def _average(values: NDArray[np.uint8] | NDArray[np.float32], width: int, height: int) -> Grey:
    floats = values.astype(np.float32)
    small = cv2.resize(floats, (width, height), interpolation=cv2.INTER_AREA)
    return np.asarray(small, np.float32)
