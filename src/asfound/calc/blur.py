"""How soft the sharpest edges of a picture are: the blur's standard deviation in pixels.

S. Zhuo and T. Sim, "Defocus map estimation from a single image", Pattern Recognition 44(9),
2011, section 3 (from memory): an edge blurred by a Gaussian of standard deviation s and then
again by one of t loses steepness by the ratio r = sqrt(s^2 + t^2) / s, whatever its contrast, so
s = t / sqrt(r^2 - 1). What is out of focus in one place only (a scene has depth) or smeared by
motion is passed over by looking at the sharper edges of all.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.calc.noise import noise_sigma
from asfound.calc.shrink import block_max, scaled

WIDTH = 320
"""Pictures are measured at this width [px], or half their own: coders blur single pixels."""
FIRST, SECOND = 1.0, 2.0
"""Standard deviations [px] of the two Gaussians that the picture is blurred with (own choice)."""
BLOCK = 10
"""One edge is taken from each block of so many pixels a side."""
CONTRAST = 20.0
"""Steepness (3 x 3 Sobel) of an edge that is looked at; about 10 code values at a blur of 2 px."""
NOISES = 6.0
"""An edge is so many times as steep as noise alone would be."""
SHARPER = 0.2
"""Share of the edges that is passed over: the measure is the next one's (own choice)."""
FEWEST = 5
"""Fewer edges than this cannot carry a judgement (own choice)."""
CLIPPED = 234
"""Edges at clipped light are left out: glare has sharp edges in any focus."""
BAND_SHARE = 2 / 9
"""Share of the height, top and bottom, where recorders burn in lines; left out."""


@dataclass(frozen=True, slots=True)
class Blur:
    """``sigma`` [px] of the sharper edges, NaN when there are too few; ``edges``: how many."""

    sigma: float
    edges: int


def halved(luma: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """The picture at the size at which its blur is measured."""
    return scaled(luma, max(1, min(WIDTH, luma.shape[1] // 2)))


def edge_blur(luma: NDArray[np.uint8], noise: float | None = None) -> Blur:
    """The blur of a picture at measuring size (``halved``), burned-in rows left out.

    ``noise`` [code values]: its noise where that is known already.
    """
    band = round(luma.shape[0] * BAND_SHARE)
    inner = luma[band : luma.shape[0] - band]
    rows, columns = inner.shape[0] // BLOCK, inner.shape[1] // BLOCK
    if rows * columns < FEWEST:
        return Blur(float("nan"), 0)
    inner = np.ascontiguousarray(inner[: rows * BLOCK, : columns * BLOCK])
    sigma = noise_sigma(inner) if noise is None else noise
    steep = [_steepest(_softened(inner, blur)) for blur in (FIRST, SECOND)]
    light = block_max(inner, BLOCK, BLOCK)
    # White noise of 1 code value, blurred by FIRST = 1 px, has a Sobel deviation of about 0.7.
    fit = (steep[0] >= max(CONTRAST, NOISES * 0.7 * sigma)) & (light < CLIPPED)
    count = int(fit.sum())
    if count < FEWEST:
        return Blur(float("nan"), count)
    ratio = steep[0][fit] / np.maximum(steep[1][fit], 1e-3)
    # Both pictures have been blurred already: s^2 + FIRST^2 against s^2 + SECOND^2.
    more = (SECOND**2 - FIRST**2) / np.maximum(ratio**2 - 1, 1e-3)
    widths = np.sqrt(np.maximum(more - FIRST**2, 0))
    return Blur(float(np.quantile(widths, SHARPER)), count)


def _softened(inner: NDArray[np.uint8], sigma: float) -> NDArray[np.float32]:
    floats = inner.astype(np.float32)
    soft = cv2.GaussianBlur(floats, (0, 0), sigma, borderType=cv2.BORDER_REFLECT)
    return np.asarray(soft, np.float32)


def _steepest(soft: NDArray[np.float32]) -> NDArray[np.float32]:
    """The steepest place of each block (3 x 3 Sobel, length of the gradient)."""
    across = cv2.Sobel(soft, cv2.CV_32F, 1, 0, ksize=3)
    down = cv2.Sobel(soft, cv2.CV_32F, 0, 1, ksize=3)
    return block_max(np.asarray(cv2.magnitude(across, down), np.float32), BLOCK, BLOCK)
