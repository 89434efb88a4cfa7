"""Cut a quadrilateral out of a picture and straighten it; shrink a picture."""

from __future__ import annotations

from math import hypot

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.model.reading import Box, Point

Pixels = NDArray[np.uint8]


def shrink(pixels: Pixels, longest: int) -> Pixels:
    """``pixels`` (height x width x 3) with no side above ``longest``; never enlarged."""
    height, width = pixels.shape[:2]
    scale = longest / max(height, width)
    if scale >= 1:
        return pixels
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    return np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), np.uint8)


def straight_crop(pixels: Pixels, box: Box, margin: float = 0.35, longest: int = 900) -> Pixels:
    """The content of ``box`` turned upright, with ``margin`` x its height around it.

    ``box`` is clockwise from the text's top left, in pixels. Returns height x width x 3 with
    no side above ``longest``; parts outside the picture repeat its edge.
    """
    width = max(_apart(box[0], box[1]), _apart(box[3], box[2]), 1.0)
    height = max(_apart(box[0], box[3]), _apart(box[1], box[2]), 1.0)
    edge = margin * height
    scale = min(1.0, longest / (max(width, height) + 2 * edge))
    corners = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)]
    aim = np.asarray([((x + edge) * scale, (y + edge) * scale) for x, y in corners], np.float32)
    turn = cv2.getPerspectiveTransform(np.asarray(box, np.float32), aim)
    size = (max(1, round((width + 2 * edge) * scale)), max(1, round((height + 2 * edge) * scale)))
    made = cv2.warpPerspective(
        pixels, turn, size, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    return np.asarray(made, np.uint8)


def _apart(a: Point, b: Point) -> float:
    return hypot(a[0] - b[0], a[1] - b[1])
