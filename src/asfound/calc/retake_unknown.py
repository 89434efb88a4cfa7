"""Why no page could be told on a photograph: too dark, blurred, shaken or too far away.

Without a single value's outline only the whole picture speaks: how steep its steepest edges are,
where it has most contrast, and how large the lit screen is. Limits were set as in ``retake``.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.calc.sharpness import Sharpness, pooled, sharpness, smeared
from asfound.model.retake import Cause, Fault

Pixels = NDArray[np.uint8]

LOOK = 320
"""Pixels of the longer side at which the screen is looked for."""

JOINED = 41
"""Pixels at that size over which lit parts are one: rows of writing on a black ground."""

TILES = 24
"""Tiles along the longer side, and how many of them, of most contrast, are looked at."""

DARK_CONTRAST, DARK_WHITE = 30.0, 100.0
"""Luma: contrast of those tiles, and the picture's 99th percentile."""

SCREEN_SHARE = 0.3
"""Of the picture, below which the screen is too far away."""

BLUR_SHARE = 0.55
"""Width of the steepest edges in per cent of the longer side; a sharp photograph has 0.35."""

SHAKE_TIMES, SHAKE_SHARE = 1.7, 0.5
"""Edges this many times wider one way than the other, and this wide (per cent)."""

LONE_EDGE = 3.0
"""Edges this many times wider one way than the other are all one edge."""

FRAME = "the whole screen should fill the picture, seen straight on"


def unknown_page_fault(pixels: Pixels) -> Fault | None:
    """What spoils a photograph (RGB) that shows no page of the map; None when nothing is seen:
    it may show another recorder's menu, or none."""
    longest = max(pixels.shape[:2])
    luma = np.asarray(cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY), np.uint8)
    sharp = pooled(_sharpest(pixels, luma, longest))
    if sharp is None:
        return _fault(Cause.DARK, "turn the monitor's brightness up", 0.0, DARK_CONTRAST, "luma")
    white = float(np.percentile(luma[::8, ::8], 99))
    if sharp.contrast < DARK_CONTRAST and white < DARK_WHITE:
        hint = "turn the monitor's brightness up, or tap its darkest part on the phone"
        return _fault(Cause.DARK, hint, sharp.contrast, DARK_CONTRAST, "luma")
    share = lit_share(pixels)
    if share < SCREEN_SHARE:
        return _fault(Cause.SMALL, f"go nearer: {FRAME}", share, SCREEN_SHARE, "1")
    narrow, wide = (100 * side / longest for side in (min(sharp.ways), max(sharp.ways)))
    if narrow >= BLUR_SHARE:
        hint = "hold the phone still and tap its screen to focus, then take it"
        return _fault(Cause.BLURRED, hint, narrow, BLUR_SHARE, "%")
    if smeared(sharp) >= SHAKE_TIMES and wide >= SHAKE_SHARE:
        hint = "hold the phone with both hands and rest your elbows"
        return _fault(Cause.SHAKE, hint, wide, SHAKE_SHARE, "%")
    return None


def lit_share(pixels: Pixels) -> float:
    """Share of the picture that the hull of its largest lit region takes."""
    scale = LOOK / max(pixels.shape[:2])
    size = (max(1, round(pixels.shape[1] * scale)), max(1, round(pixels.shape[0] * scale)))
    small = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA)
    # The brightest channel: a deep blue ground is dark in luma, yet lit.
    light = cv2.GaussianBlur(small.max(axis=2), (0, 0), 1.5)
    _, mask = cv2.threshold(light, 0, 1, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    mask = cv2.morphologyEx(mask, cv2.MORPH_CLOSE, np.ones((JOINED, JOINED), np.uint8))
    found, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)
    areas = [cv2.contourArea(cv2.convexHull(one)) for one in found]
    return float(max(areas, default=0.0)) / mask.size


def _sharpest(pixels: Pixels, luma: Pixels, longest: int) -> list[Sharpness]:
    side = max(8, longest // TILES)
    tiles = []
    for top in range(0, luma.shape[0] - side + 1, side):
        for left in range(0, luma.shape[1] - side + 1, side):
            low, high = np.percentile(luma[top : top + side : 4, left : left + side : 4], (4, 96))
            tiles.append((float(high - low), float(left), float(top)))
    made = []
    for _, x, y in sorted(tiles, reverse=True)[: 4 * TILES]:
        box = ((x, y), (x + side, y), (x + side, y + side), (x, y + side))
        one = sharpness(pixels, box)
        # A lone straight edge, of the screen or a bar, is no writing.
        if one is not None and smeared(one) < LONE_EDGE:
            made.append(one)
        if len(made) == TILES:
            break
    return made


def _fault(cause: Cause, hint: str, measured: float, limit: float, unit: str) -> Fault:
    return Fault(cause, hint, (), measured, limit, unit)
