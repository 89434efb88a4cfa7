"""What lens and hand do to the picture: bloom, defocus, shake."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.demo.conditions import Conditions
from asfound.demo.light import Light, blurred, resized
from asfound.demo.pose import Matrix, project

# Softness of a sensor's colour filter and pixel, Gaussian sigma in photograph pixels; the
# lens alone is a little sharper.
SENSOR_SIGMA = 0.45
LENS_SIGMA = 0.3

_BLOOM = 0.03


def through_lens(front: Light, face_to_photo: Matrix, conditions: Conditions) -> Light:
    """The monitor's face (H, W, 4) with bloom, defocus, the sensor's softness and shake.

    The blur is constant over the photograph; it is carried over to the face by the
    projection's derivative at the face's middle. ``front`` is used up.
    """
    high, wide = front.shape[:2]
    small = resized(front, (wide // 8, high // 8), cv2.INTER_AREA) * np.float32(_BLOOM)
    small[:, :, 3] = 0
    front += resized(blurred(small, max(1.0, wide / 8 * 0.012)), (wide, high))
    middle = np.array([wide / 2, high / 2])
    seen = project(face_to_photo, middle + np.array([[0, 0], [1, 0], [0, 1]]))
    photo_to_face = np.linalg.inv((seen[1:] - seen[0]).T)
    sigma = float(np.hypot(conditions.defocus_px, SENSOR_SIGMA))
    spread = np.sqrt(np.diag(photo_to_face @ photo_to_face.T)) * sigma
    soft = blurred(front, float(spread[0]), float(spread[1]))
    way = np.array([np.cos(conditions.shake_way), np.sin(conditions.shake_way)])
    return _shaken(soft, photo_to_face @ way * conditions.shake_px)


def lens_sigma(conditions: Conditions) -> float:
    """The blur that the pixel grid is seen through, as one Gaussian sigma (pixels).

    Shake along a line of length L has the spread of a uniform density, L / sqrt(12).
    """
    shake = conditions.shake_px / 12**0.5
    return float(np.sqrt(conditions.defocus_px**2 + LENS_SIGMA**2 + shake**2))


def _shaken(front: Light, path: NDArray[np.float64]) -> Light:
    """The mean of copies along a slightly bent path (pixels of the face)."""
    length = float(np.hypot(*path))
    if length < 0.7:
        return front
    count = int(min(9, max(3, round(length) + 1)))
    shares = np.linspace(-0.5, 0.5, count)[:, None]
    bend = np.array([-path[1], path[0]]) * 0.12
    steps = np.round(path * shares + bend * (shares**2 * 4 - 1)).astype(int)
    edge = int(np.abs(steps).max())
    around = cv2.copyMakeBorder(front, edge, edge, edge, edge, cv2.BORDER_CONSTANT)
    total = np.zeros_like(front)
    high, wide = front.shape[:2]
    for x, y in steps:
        total += around[edge + y : edge + y + high, edge + x : edge + x + wide]
    total /= count
    return total
