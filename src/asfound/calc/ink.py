"""Is anything written in a strip of a row? Looked for before a value is called blank."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

_HEIGHT = 48
_MIDDLE = slice(10, 38)
"""The middle of the row: rules and cursor frames run along its edges."""


def contrast(crop: NDArray[np.uint8]) -> float:
    """Luma contrast of a text crop, 0..255: its 95th less its 5th percentile."""
    luma = cv2.cvtColor(crop, cv2.COLOR_RGB2GRAY)
    low, high = np.percentile(luma, (5, 95))
    return float(high - low)


@dataclass(frozen=True, slots=True)
class Ink:
    """Where ink begins and ends along a strip, as shares of its width, and whether it
    is a row of like pieces at like distances, as a mask of a secret is."""

    start: float
    end: float
    is_mask: bool


def find_ink(strip: NDArray[np.uint8], text_contrast: float) -> Ink | None:
    """The ink on a strip of a row, RGB; None when there is none.

    Ink is a column whose middle differs from the strip's slowly changing ground by more than a
    quarter of ``text_contrast`` (luma, 0..255).
    """
    height, width = strip.shape[:2]
    columns = max(8, round(width * _HEIGHT / max(height, 1)))
    small = cv2.resize(strip, (columns, _HEIGHT), interpolation=cv2.INTER_AREA)
    luma = cv2.cvtColor(small, cv2.COLOR_RGB2GRAY)[_MIDDLE].astype(np.float32)
    level = np.median(luma, axis=0)
    reach = max(3, columns // 6)
    windows = np.lib.stride_tricks.sliding_window_view(
        np.pad(level, reach, mode="edge"), 2 * reach + 1
    )
    ground = np.median(windows, axis=1)
    height_of = np.abs(luma - ground[None]).max(axis=0)
    found = np.flatnonzero(height_of > max(0.25 * text_contrast, 8.0))
    if found.size < 2:
        return None
    strong = np.flatnonzero(height_of > 0.6 * float(height_of.max()))
    runs = np.split(strong, np.flatnonzero(np.diff(strong) > 1) + 1)
    return Ink(float(found[0]) / columns, float(found[-1] + 1) / columns, _even(runs))


def _even(runs: list[NDArray[np.intp]]) -> bool:
    """At least four runs of columns, alike in width and evenly spaced."""
    if len(runs) < 4:
        return False
    widths = np.array([run.size for run in runs], dtype=float)
    steps = np.diff([float(run.mean()) for run in runs])
    return bool(np.ptp(widths) <= 0.5 * widths.mean() + 1.0 and steps.std() < 0.15 * steps.mean())


def washed_out(strip: NDArray[np.uint8]) -> bool:
    """True when glare or darkness hides what may stand in the strip."""
    luma = cv2.cvtColor(strip, cv2.COLOR_RGB2GRAY)
    return bool(np.mean(luma > 245) > 0.15)
