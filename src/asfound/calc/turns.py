"""Quarter turns of a picture and of outlines on it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from asfound.calc.textlines import Quads


def turn_picture(pixels: NDArray[np.uint8], turns: int) -> NDArray[np.uint8]:
    """The picture turned counter-clockwise by ``turns`` quarter turns."""
    return np.ascontiguousarray(np.rot90(pixels, turns))


def turn_quads(quads: Quads, turns: int, shape: tuple[int, ...]) -> Quads:
    """Outlines turned with their picture of ``shape`` (height, width); each corner list then
    starts at what is the top left in the turned picture."""
    for _ in range(turns % 4):
        height, width = shape[:2]
        quads = np.stack([quads[..., 1], width - 1 - quads[..., 0]], axis=-1)
        quads = np.roll(quads, -1, axis=-2)
        shape = (width, height)
    return quads


def turn_back(quads: Quads, turns: int, shape: tuple[int, ...]) -> Quads:
    """Outlines on the turned picture of ``shape`` back on the picture as it was; corners keep
    their meaning (first is the text's top left)."""
    for _ in range(turns % 4):
        height, width = shape[:2]
        quads = np.stack([height - 1 - quads[..., 1], quads[..., 0]], axis=-1)
        shape = (width, height)
    return quads
