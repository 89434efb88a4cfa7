"""Views of a burned-in line: as it is, only what is lighter, or only what is darker than around it.

Recorders write light digits with a dark edge or shadow, or dark ones on a light box, so that they
stay legible on any picture. To a recogniser the edge is in the way: on a bright sky white digits
hardly differ from what is behind them while their shadow does, and the shadow of a 6 looks like
that of a 5. A view of one side shows the ink alone. What is behind the line is taken as the median
of a square as high as the line, of which digits cover less than half.
"""

from __future__ import annotations

from enum import StrEnum

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.calc.overlay_place import Pixels

LEAST = 8.0
"""Contrast in code values below which a view is not stretched further: it is noise."""

INK = 99.0
"""Percentile of the contrast that becomes full ink."""

WIDEST = 255
"""OpenCV's median takes squares of up to this many pixels."""


class View(StrEnum):
    """What of a line is looked at."""

    PLAIN = "plain"
    LIGHT = "light"
    DARK = "dark"


def seen(pixels: Pixels, view: View) -> Pixels:
    """A crop (height x width x 3) in this view: light ink on black, or dark ink on white."""
    if view is View.PLAIN:
        return pixels
    grey = cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY)
    square = min(WIDEST, 2 * max(2, grey.shape[0] // 2) + 1)
    behind = np.asarray(cv2.medianBlur(grey, square), np.float32)
    apart = grey.astype(np.float32) - behind
    if view is View.DARK:
        return _grey(1.0 - _ink(-apart))
    return _grey(_ink(apart))


def _ink(contrast: NDArray[np.float32]) -> NDArray[np.float32]:
    """0 (none) to 1 (full ink)."""
    above = np.maximum(contrast, 0.0)
    full = max(LEAST, float(np.percentile(above, INK)))
    return np.asarray(np.minimum(above / full, 1.0), np.float32)


def _grey(ink: NDArray[np.float32]) -> Pixels:
    return np.repeat(np.asarray(np.rint(ink * 255), np.uint8)[:, :, None], 3, axis=2)
