"""Where in a picture a burned-in clock may stand: the bands along its top and bottom."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.model.reading import Box

Pixels = NDArray[np.uint8]
Place = tuple[int, int, int, int]
"""Left, top, right, bottom in pixels of the picture."""

BAND = 0.28
"""Share of the height looked at above and below: burned-in lines stand along the edges (common
practice, no source)."""

LOOK_WIDTH = 1280
"""Width that the bands are brought to before text is looked for."""


@dataclass(frozen=True, slots=True)
class Bands:
    """Both bands one above the other, at ``scale`` times the picture's size."""

    pixels: Pixels
    scale: float
    height: int
    band: int

    def place(self, box: Box) -> Place | None:
        """The upright rectangle around a box, in the picture; None across the bands' seam."""
        xs, ys = [x / self.scale for x, _ in box], [y / self.scale for _, y in box]
        top, bottom = min(ys), max(ys)
        if (top + bottom) / 2 >= self.band:
            shift = self.height - 2 * self.band
            top, bottom = max(top, self.band) + shift, bottom + shift
        else:
            bottom = min(bottom, self.band)
        return round(min(xs)), round(top), round(max(xs)), round(bottom)


def bands(pixels: Pixels) -> Bands:
    """The bands of a picture (height x width x 3)."""
    height, width = pixels.shape[:2]
    band = max(8, round(height * BAND))
    both = np.vstack([pixels[:band], pixels[-band:]])
    scale = LOOK_WIDTH / width
    size = (LOOK_WIDTH, max(1, round(both.shape[0] * scale)))
    how = cv2.INTER_AREA if scale < 1 else cv2.INTER_CUBIC
    return Bands(
        np.asarray(cv2.resize(both, size, interpolation=how), np.uint8), scale, height, band
    )


def cut(pixels: Pixels, place: Place) -> Pixels:
    """The line at ``place`` with a margin: the text's width changes with its digits."""
    height, width = pixels.shape[:2]
    left, top, right, bottom = place
    tall = max(1, bottom - top)
    side, edge = round(0.6 * tall), round(0.12 * tall)
    return np.ascontiguousarray(
        pixels[
            max(0, top - edge) : min(height, bottom + edge),
            max(0, left - side) : min(width, right + side),
        ]
    )


def apart(a: Place, b: Place) -> float:
    """How far two places are apart, in heights of the first: the larger of both gaps."""
    tall = max(1, a[3] - a[1])
    across = max(0, max(a[0], b[0]) - min(a[2], b[2]))
    down = max(0, max(a[1], b[1]) - min(a[3], b[3]))
    return max(across, down) / tall
