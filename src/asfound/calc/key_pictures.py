"""Two key pictures of one stream: was the same picture coded twice?"""

from __future__ import annotations

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


def equal_blocks(luma: NDArray[np.uint8], other: NDArray[np.uint8]) -> float:
    """Share of textured blocks that are equal in every pixel; NaN when too few have texture.

    Both pictures are full size, height x width. Coding a live scene twice at one quality leaves
    next to no textured block the same, for its noise differs; a stuck source leaves most.
    """
    if luma.shape != other.shape:
        return float("nan")
    band = int(luma.shape[0] * BAND_SHARE)
    one, two = _blocks(luma[band : luma.shape[0] - band]), _blocks(other[band : -band or None])
    if not one.size:
        return float("nan")
    values = one.astype(np.float32)
    mean = values.mean(axis=(1, 3))
    fit = (values.std(axis=(1, 3)) > TEXTURE) & (mean > DARK) & (mean < BRIGHT)
    if fit.sum() < FEWEST_BLOCKS:
        return float("nan")
    return float((one == two).all(axis=(1, 3))[fit].mean())


def _blocks(luma: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """The picture as rows x BLOCK x columns x BLOCK; what does not fill a block is left out."""
    height, width = (side - side % BLOCK for side in luma.shape)
    blocks = luma[:height, :width].reshape(height // BLOCK, BLOCK, width // BLOCK, BLOCK)
    return blocks[:: max(1, -(-blocks.shape[0] * blocks.shape[2] // MOST_BLOCKS))]
