"""Linear light as arrays, and the few picture operations that the simulator needs on it."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

Light = NDArray[np.float32]
"""Height x width (x channels), linear, white = 1."""

Pixels = NDArray[np.uint8]
"""Height x width x 3, RGB, 8 bit."""


def blurred(light: Light, sigma: float, down: float | None = None) -> Light:
    """Gaussian blur; ``sigma`` across and ``down`` (the same when None) in pixels."""
    soft = cv2.GaussianBlur(light, (0, 0), sigmaX=sigma, sigmaY=sigma if down is None else down)
    return np.asarray(soft, np.float32)


def resized(light: Light, size: tuple[int, int], how: int = cv2.INTER_LINEAR) -> Light:
    """``light`` at ``size`` (width, height)."""
    return np.asarray(cv2.resize(light, size, interpolation=how), np.float32)
