"""How sharp writing is, against its own height, and whether it is smeared along one direction."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.calc.crop import straight_crop
from asfound.model.reading import Box

_WAYS = 12
"""Directions in which steepness is measured: every 15 degrees."""

_LEAST_CONTRAST = 8.0


@dataclass(frozen=True, slots=True)
class Sharpness:
    """Of one crop. ``height``: pixels of the outline; ``contrast``: luma between writing and
    ground; ``rise``: pixels over which the steepest edges go from one to the other; ``ways``:
    the same for each of the directions in turn (radians k pi / 12 from the row)."""

    height: float
    contrast: float
    rise: float
    ways: tuple[float, ...]

    @property
    def blur(self) -> float:
        """The rise as a share of the outline's height: letters close up from about 0.4 on."""
        return self.rise / max(self.height, 1.0)


def sharpness(pixels: NDArray[np.uint8], box: Box) -> Sharpness | None:
    """The writing in ``box`` (pixels of the photograph, RGB); None where there is none."""
    height = float(np.hypot(box[3][0] - box[0][0], box[3][1] - box[0][1]))
    crop = straight_crop(pixels, box, 0.1)
    if min(crop.shape[:2]) < 4:
        return None
    grey = cv2.cvtColor(crop, cv2.COLOR_RGB2GRAY).astype(np.float32)
    scale = crop.shape[0] / max(1.2 * height, 1.0)
    luma = cv2.GaussianBlur(grey, (0, 0), max(0.5, 0.02 * crop.shape[0]))
    low, high = np.percentile(luma, (4, 96))
    contrast = float(high - low)
    if contrast < _LEAST_CONTRAST:
        return None
    across = cv2.Sobel(luma, cv2.CV_32F, 1, 0, ksize=3) / 8
    down = cv2.Sobel(luma, cv2.CV_32F, 0, 1, ksize=3) / 8
    ways = []
    for turn in np.arange(_WAYS) * np.pi / _WAYS:
        steep = np.abs(across * np.cos(turn) + down * np.sin(turn))
        top = float(np.percentile(steep, 98.5))
        ways.append(contrast / max(top, 1e-3) / scale)
    return Sharpness(height, contrast, min(ways), tuple(ways))


def pooled(seen: Sequence[Sharpness]) -> Sharpness | None:
    """Medians over several crops; None without any."""
    if not seen:
        return None
    ways = np.median(np.array([one.ways for one in seen]), axis=0)
    return Sharpness(
        float(np.median([one.height for one in seen])),
        float(np.median([one.contrast for one in seen])),
        float(np.median([one.rise for one in seen])),
        tuple(float(way) for way in ways),
    )


def smeared(sharp: Sharpness) -> float:
    """Widest over narrowest rise by direction: about 1 when all are alike; a moving hand leaves
    edges along its way steep and the others wide."""
    return max(sharp.ways) / max(min(sharp.ways), 1e-6)
