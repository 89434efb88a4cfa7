"""A photograph as it is, and with the screen in it seen straight on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.calc.screen_outline import screen_outline, straightened
from asfound.calc.textlines import as_box
from asfound.calc.turns import turn_back
from asfound.jobs.photo_text import PhotoText
from asfound.model.reading import Box
from asfound.ports.pictures import Pixels


@dataclass(frozen=True, slots=True)
class View:
    """Pixels to read, and the 3 x 3 matrix from them to the photograph's (None: the same)."""

    pixels: Pixels
    back: NDArray[np.float64] | None = None


def views(pixels: Pixels) -> Iterator[View]:
    """Views of a photograph, the most legible first."""
    corners = screen_outline(pixels)
    straight = None if corners is None else View(*straightened(pixels, corners))
    if straight is not None:
        yield straight
    yield View(pixels)
    if straight is not None:
        yield replace(straight, pixels=_evened(straight.pixels))
        if float(np.median(straight.pixels)) < 128:
            yield replace(straight, pixels=_as_negative(straight.pixels))


def _evened(pixels: Pixels) -> Pixels:
    """Contrast made alike all over, against glare, bands and dim corners."""
    lab = cv2.cvtColor(pixels, cv2.COLOR_RGB2LAB)
    lightness = cv2.createCLAHE(3.0, (6, 6)).apply(np.ascontiguousarray(lab[:, :, 0]))
    even = np.dstack([lightness, lab[:, :, 1], lab[:, :, 2]])
    return np.asarray(cv2.cvtColor(even, cv2.COLOR_LAB2RGB), dtype=np.uint8)


def _as_negative(pixels: Pixels) -> Pixels:
    """Light writing on a dim screen as dark writing on a light one, the way most print is."""
    grey = cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY).astype(np.float32)
    dark, light = np.percentile(grey, [1, 99.5])
    full = np.clip((grey - dark) * 255.0 / max(float(light - dark), 1.0), 0, 255)
    return np.asarray(np.dstack([255.0 - full] * 3), dtype=np.uint8)


def in_photograph(box: Box, text: PhotoText, view: View) -> Box:
    """An outline in the text's pixels as it lies in the photograph."""
    corners = turn_back(np.array([box], dtype=np.float64), text.turns, text.pixels.shape)
    if view.back is not None:
        corners = np.asarray(cv2.perspectiveTransform(corners, view.back), dtype=np.float64)
    return as_box(np.asarray(corners[0], dtype=np.float64))
