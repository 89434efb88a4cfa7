"""Too bright or too dark: how much of the picture is clipped, and how bright its lights are.

Luma as in ITU-R BT.601 and BT.709: black 16 and white 235 in limited range, 0 and 255 in full.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

BRIGHTEST = 0.0005
"""Share of the picture that its brightest lights take (own choice)."""
LAMPS = 0.0001
"""Share of a picture at full size that single lamps in the dark take (own choice): averaged to a
smaller one they go under."""
WHITE_SLACK = 5
"""A coder's rounding may leave a clipped pixel so many code values below white."""
BAND_SHARE = 1 / 9
"""Share of the height, top and bottom, where recorders burn in bright lines; left out."""


@dataclass(frozen=True, slots=True)
class Exposure:
    """``white``: share of clipped pixels; ``lights``: the brightest, as a share of the range."""

    white: float
    lights: float


def exposure(luma: NDArray[np.uint8], limited: bool) -> Exposure:
    """Of a picture (height x width) of at most a few hundred pixels a side."""
    black, white = (16, 235) if limited else (0, 255)
    below = _shares(luma)
    clipped = 1 - float(below[white - WHITE_SLACK - 1])
    lights = int(np.searchsorted(below, 1 - BRIGHTEST))
    return Exposure(clipped, (lights - black) / (white - black))


def lamps(luma: NDArray[np.uint8], limited: bool) -> float:
    """How bright single lamps are, as a share of the range, in a picture (height x width) at its
    full size."""
    black, white = (16, 235) if limited else (0, 255)
    return (int(np.searchsorted(_shares(luma), 1 - LAMPS)) - black) / (white - black)


def _shares(luma: NDArray[np.uint8]) -> NDArray[np.float64]:
    """Share of the pixels between the bands that are no brighter than each value (256)."""
    band = round(luma.shape[0] * BAND_SHARE)
    inner = np.ascontiguousarray(luma[band : luma.shape[0] - band])
    counts = cv2.calcHist([inner], [0], None, [256], [0, 256]).ravel()
    return np.cumsum(counts, dtype=np.float64) / max(1, inner.size)
