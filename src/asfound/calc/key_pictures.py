"""Two key pictures of one stream: was the same picture coded twice?"""

from __future__ import annotations

from collections.abc import Iterable

import cv2
import numpy as np
from numpy.typing import NDArray

BLOCK = 8
"""Side of a compared block [px]: the transform size of most codecs."""
TEXTURE = 2.0
"""Standard deviation [code values] from which a block has something to be equal in."""
DARK, BRIGHT = 37.0, 235.0
"""Blocks outside are left out: noise does not show where luma is clipped."""
BAND_SHARE = 2 / 9
"""Share of the height, top and bottom, where recorders burn in lines; left out."""
MOST_BLOCKS = 4000
"""Larger pictures are compared in every second, third ... row of blocks, to save time."""
FEWEST_BLOCKS = 40
"""Fewer comparable blocks than this cannot carry a judgement."""


def equal_blocks(luma: NDArray[np.uint8], others: Iterable[NDArray[np.uint8]]) -> float:
    """Share of textured blocks that are equal in every pixel, in the most alike of ``others``.

    NaN when there is nothing to compare: too little texture, or no other of the same size. All
    are full size, height x width. Coding a live scene twice at one quality leaves next to no
    textured block the same, for its noise differs; a stuck source leaves most.
    """
    same = [other for other in others if other.shape == luma.shape]
    one = _blocks(luma)
    if not same or not one.size:
        return float("nan")
    mean, squares = _block_means(one)
    spread = np.sqrt(np.maximum(squares - mean * mean, 0))
    fit = (spread > TEXTURE) & (mean > DARK) & (mean < BRIGHT)
    if fit.sum() < FEWEST_BLOCKS:
        return float("nan")
    return max(float(_equal(one, _blocks(other))[fit].mean()) for other in same)


def _equal(one: NDArray[np.uint8], two: NDArray[np.uint8]) -> NDArray[np.bool_]:
    """True for blocks (BLOCK x BLOCK) without any difference."""
    apart = np.zeros((len(one), one.shape[2] // BLOCK), np.uint64)
    for row in range(BLOCK):
        # Eight pixels of a row are one 64-bit number.
        apart |= one[:, row].view(np.uint64) ^ two[:, row].view(np.uint64)
    return np.asarray(apart == 0, np.bool_)


def _block_means(one: NDArray[np.uint8]) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Mean of each block, and of its squares.

    Row by row of all blocks: arrays as large as the picture would be handed back to the system
    and fetched anew each time, which costs more than all the rest.
    """
    sums = np.zeros((len(one), one.shape[2]), np.float32)
    squares = np.zeros_like(sums)
    for row in range(BLOCK):
        values = one[:, row].astype(np.float32)
        sums += values
        squares += values * values
    size = (one.shape[2] // BLOCK, len(one))
    mean, square = (
        np.asarray(cv2.resize(added / BLOCK, size, interpolation=cv2.INTER_AREA), np.float32)
        for added in (sums, squares)
    )
    return mean, square


def _blocks(luma: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Rows of whole blocks between the bands (so many x BLOCK x columns), of large pictures every
    second, third ... row; nothing is copied where the width is whole blocks."""
    height, width = luma.shape
    band = int(height * BAND_SHARE)
    rows, columns = (height - 2 * band) // BLOCK, width // BLOCK
    inner = luma[band : band + rows * BLOCK, : columns * BLOCK]
    stride = max(1, -(-rows * columns // MOST_BLOCKS))
    return inner.reshape(rows, BLOCK, columns * BLOCK)[::stride]
