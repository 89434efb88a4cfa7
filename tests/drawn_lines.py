"""Lines of text drawn with OpenCV's Hershey fonts: letters that no menu font of the project has
(tests only)."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

SIMPLEX, COMPLEX = cv2.FONT_HERSHEY_DUPLEX, cv2.FONT_HERSHEY_COMPLEX


def drawn(
    text: str,
    font: int = COMPLEX,
    *,
    scale: float = 1.4,
    dark: bool = True,
    apart: int = 4,
    blur: float = 0.6,
) -> NDArray[np.uint8]:
    """An upright picture (RGB) of ``text``, its characters ``apart`` pixels from each other."""
    ground, ink = (230, 25) if dark else (30, 220)
    height = round(34 * scale)
    parts = [np.full((height, 8, 3), ground, np.uint8)]
    for character in text:
        if character == " ":
            parts.append(np.full((height, round(12 * scale), 3), ground, np.uint8))
            continue
        (width, _), _ = cv2.getTextSize(character, font, scale, 2)
        sign = np.full((height, width + 20, 3), ground, np.uint8)
        cv2.putText(
            sign, character, (10, round(26 * scale)), font, scale, (ink,) * 3, 2, cv2.LINE_AA
        )
        used = np.flatnonzero((sign[:, :, 0] != ground).any(axis=0))
        parts.append(sign[:, used[0] : used[-1] + 1])
        parts.append(np.full((height, apart, 3), ground, np.uint8))
    line = np.hstack([*parts, np.full((height, 8, 3), ground, np.uint8)])
    return np.asarray(cv2.GaussianBlur(line, (0, 0), blur), dtype=np.uint8)
