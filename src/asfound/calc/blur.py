"""How soft the edges of a picture are: the blur's standard deviation in pixels.

S. Zhuo and T. Sim, "Defocus map estimation from a single image", Pattern Recognition 44(9),
2011, section 3 (from memory): an edge blurred by a Gaussian of standard deviation s and then
again by one of t loses steepness by the ratio r = sqrt(s^2 + t^2) / s, whatever its contrast, so
s = t / sqrt(r^2 - 1). The sharper edges are looked at: what is out of focus in one place only (a
scene has depth) or smeared by motion is passed over.

A thin line loses the square of that and a dot the third power: taken for edges, hair, leaves and
spokes are sharp in any focus. Where few edges are sharp to the pixel, a second look compares three
blurs a, b, c: the ratio of the two losses' logarithms does not depend on that power.

    ln((s^2 + b^2) / (s^2 + a^2)) / ln((s^2 + c^2) / (s^2 + b^2))

Losses are taken at one place, and a line's flanks move apart: this look finds it a third wider
than it is, and never sharper. Scenes that are soft by nature have wide edges there, and a few
sharp ones for the first look: only what is soft to both is out of focus.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.calc.noise import noise_sigma
from asfound.calc.shrink import block_max, scaled

WIDTH = 640
"""Pictures are measured at this width [px] or less."""
BLOCK = 10
"""One edge is taken from each block of so many pixels a side."""
CONTRAST = 20.0
"""Steepness (3 x 3 Sobel) of an edge that is looked at; about 10 code values at a blur of 2 px."""
NOISES = 6.0
"""An edge is so many times as steep as noise alone would be."""
FEWEST = 5
"""Fewer edges than this cannot carry a judgement (own choice)."""
CLIPPED = 234
"""Edges at clipped light are left out: glare has sharp edges in any focus."""
BAND_SHARE = 2 / 9
"""Share of the height, top and bottom, where recorders burn in lines; left out."""
FINE = (1.0, 2.0)
"""First look, at half the size, because coders blur single pixels: standard deviations [px] of the
two Gaussians that the picture is blurred with (own choice)."""
WIDE = (2.0, 3.4, 5.8)
"""Second look, at the whole size: the three Gaussians (own choice)."""
SHARPER, SHARPER_WIDE = 0.2, 0.3
"""Share of the edges that is passed over: the measure is the next one's (own choices)."""
SHARP = 0.1
"""Up to this blur in the first look [px at half the size] the picture is sharp (own choice)."""

_SIGMAS = np.linspace(0.0, 8.0, 401)
_A, _B, _C = (_SIGMAS**2 + blur**2 for blur in WIDE)
_RATIOS = np.log(_B / _A) / np.log(_C / _B)
"""What the losses' logarithms have for a ratio, by blur: it falls as the blur grows."""

Steep = NDArray[np.float32]
Value = TypeVar("Value", np.uint8, np.float32)


@dataclass(frozen=True, slots=True)
class Blur:
    """``sigma`` of the sharper edges [px at half the measuring size], 0 when the first look found
    the picture sharp, NaN when there are too few; ``edges``: how many."""

    sigma: float
    edges: int


def edge_blur(luma: NDArray[np.uint8]) -> Blur:
    """The blur of a picture (height x width, at most WIDTH wide), burned-in rows left out."""
    first = fine_blur(scaled(luma, max(1, luma.shape[1] // 2)))
    if np.isnan(first.sigma):
        return first
    if first.sigma < SHARP:
        return Blur(0.0, first.edges)
    second = wide_blur(luma)
    return Blur(second.sigma / 2, second.edges)


def fine_blur(luma: NDArray[np.uint8]) -> Blur:
    """The first look [px]."""
    inner = _inner(luma)
    if inner is None:
        return Blur(float("nan"), 0)
    steep = [_steepness(inner, blur) for blur in FINE]
    tops = [block_max(one, BLOCK, BLOCK).ravel() for one in steep]
    fit = _edges(inner, tops[0])
    if fit.sum() < FEWEST:
        return Blur(float("nan"), int(fit.sum()))
    ratio = tops[0][fit] / np.maximum(tops[1][fit], 1e-3)
    # Both pictures have been blurred already: s^2 + 1 against s^2 + 4.
    more = (FINE[1] ** 2 - FINE[0] ** 2) / np.maximum(ratio**2 - 1, 1e-3)
    widths = np.sqrt(np.maximum(more - FINE[0] ** 2, 0))
    return Blur(float(np.quantile(widths, SHARPER)), int(fit.sum()))


def wide_blur(luma: NDArray[np.uint8]) -> Blur:
    """The second look [px]."""
    inner = _inner(luma)
    if inner is None:
        return Blur(float("nan"), 0)
    steep = [_blocks(_steepness(inner, blur)) for blur in WIDE]
    number, at = np.arange(len(steep[0])), steep[0].argmax(axis=1)
    # All three where the first is steepest: elsewhere may be another edge.
    first, second, third = (one[number, at] for one in steep)
    fit = _edges(inner, first)
    if fit.sum() < FEWEST:
        return Blur(float("nan"), int(fit.sum()))
    losses = [
        np.log(np.maximum(one[fit] / np.maximum(two[fit], 1e-3), 1.0001))
        for one, two in ((first, second), (second, third))
    ]
    widths = np.interp(-losses[0] / losses[1], -_RATIOS, _SIGMAS)
    return Blur(float(np.quantile(widths, SHARPER_WIDE)), int(fit.sum()))


def _inner(luma: NDArray[np.uint8]) -> NDArray[np.uint8] | None:
    """Whole blocks between the burned-in rows; None when they are too few."""
    band = round(luma.shape[0] * BAND_SHARE)
    inner = luma[band : luma.shape[0] - band]
    rows, columns = inner.shape[0] // BLOCK, inner.shape[1] // BLOCK
    if rows * columns < FEWEST:
        return None
    return np.ascontiguousarray(inner[: rows * BLOCK, : columns * BLOCK])


def _edges(inner: NDArray[np.uint8], top: Steep) -> NDArray[np.bool_]:
    """Which blocks have an edge. White noise of 1 code value, blurred by 1 px, has a Sobel
    deviation of about 0.7 a pixel, and less when it is blurred more."""
    noise = 0.7 * noise_sigma(inner)
    light = block_max(inner, BLOCK, BLOCK).ravel()
    return np.asarray((top >= max(CONTRAST, NOISES * noise)) & (light < CLIPPED), np.bool_)


def _steepness(inner: NDArray[np.uint8], sigma: float) -> Steep:
    """Length of the gradient (3 x 3 Sobel) of the picture blurred by so much."""
    floats = inner.astype(np.float32)
    soft = cv2.GaussianBlur(floats, (0, 0), sigma, borderType=cv2.BORDER_REFLECT)
    across = cv2.Sobel(soft, cv2.CV_32F, 1, 0, ksize=3)
    down = cv2.Sobel(soft, cv2.CV_32F, 0, 1, ksize=3)
    return np.asarray(cv2.magnitude(across, down), np.float32)


def _blocks(values: NDArray[Value]) -> NDArray[Value]:
    """The pixels of each block in a row."""
    rows, columns = values.shape[0] // BLOCK, values.shape[1] // BLOCK
    parts = values.reshape(rows, BLOCK, columns, BLOCK).transpose(0, 2, 1, 3)
    return parts.reshape(rows * columns, BLOCK * BLOCK)
