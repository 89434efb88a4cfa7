"""Find the lit screen in a photograph, and look at it straight on."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

_LOOK = 480
"""Longest side, in pixels, at which the screen is looked for."""

_LEAST, _MOST = 0.03, 0.9
"""Share of the photograph that a screen may take."""

_STRAIGHT = 0.88
"""Share of the lit region's hull that its four-cornered outline must agree with."""

_LONGEST = 2.8
"""Longer side of a screen, of its shorter: monitors of 16:9 at most, seen from 35 degrees aside."""

_LEVELS = (1.0, 0.85, 0.7, 0.6, 0.5)
"""Shares of Otsu's level above which a region may be lit."""

_AROUND = 161
"""Pixels (at _LOOK) around a place that it must be lighter than."""

_HOLES = (15, 7)
"""Gaps (pixels at _LOOK) that are closed in a lit region."""

_CHROMA_STEPS = 6.0
"""Steps of 8 bits that one unit of CIELAB chroma is spread over: grounds have but a few units."""

_CUT_OFF = 0.6
"""What a corner on the photograph's edge leaves of a region's worth."""

Corners = NDArray[np.float64]
"""4 x 2 pixels, clockwise from the corner nearest the photograph's top left."""


def screen_outline(pixels: NDArray[np.uint8]) -> Corners | None:
    """Corners of the largest lit four-cornered region; None where there is none.

    ``pixels``: h x w x 3, RGB.
    """
    scale = min(1.0, _LOOK / max(pixels.shape[:2]))
    size = (max(1, round(pixels.shape[1] * scale)), max(1, round(pixels.shape[0] * scale)))
    small = np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)
    # The brightest channel: a deep blue ground is dark in luma, yet lit.
    peak = small.max(axis=2)
    # Writing has edges; a lit window or a wall has few.
    edges = np.asarray(np.abs(cv2.Laplacian(peak, cv2.CV_32F)), dtype=np.float32)
    best: tuple[float, Corners] | None = None
    for mask in (*_lit(_smooth(peak)), *_coloured(small)):
        contours, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)
        for contour in contours:
            found = _four_corners(np.asarray(contour, dtype=np.int32), edges)
            if found is not None and (best is None or found[0] > best[0]):
                best = found
    return None if best is None else best[1] / scale


def _lit(light: NDArray[np.float32]) -> Iterator[NDArray[np.uint8]]:
    """What may be lit, 1 or 0: lighter than one of several levels, or than what is around it. The
    dark rim of a monitor beside a light wall must stay; holes that writing leaves must close."""
    otsu, _ = cv2.threshold(light.astype(np.uint8), 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    levels = [share * otsu for share in _LEVELS]
    levels.append(0.5 * (otsu + float(np.percentile(light, 97))))
    above = [light > level for level in levels]
    above.append(light > np.asarray(cv2.blur(light, (_AROUND, _AROUND))))
    for one in above:
        yield from _closed(one)


def _coloured(small: NDArray[np.uint8]) -> Iterator[NDArray[np.uint8]]:
    """What may be lit by its colour: a dark screen beside a dark frame is hardly lighter, yet
    seldom as grey. Strong colours (a marked row, a heading) are not to outshine its ground."""
    lab = cv2.cvtColor(small, cv2.COLOR_RGB2LAB).astype(np.float32)
    chroma = _smooth(np.hypot(lab[:, :, 1] - 128.0, lab[:, :, 2] - 128.0))
    steps = _CHROMA_STEPS * np.minimum(chroma, 2.0 * np.median(chroma) + 4.0)
    otsu, _ = cv2.threshold(
        np.clip(steps, 0, 255).astype(np.uint8), 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU
    )
    for share in (1.0, 0.7, 0.5):
        yield from _closed(np.asarray(steps > share * otsu))


def _smooth(channel: NDArray[Any]) -> NDArray[np.float32]:
    return np.asarray(cv2.GaussianBlur(channel, (0, 0), 2.0), dtype=np.float32)


def _closed(lighter: NDArray[np.bool_]) -> Iterator[NDArray[np.uint8]]:
    """The region, 1 or 0, with its smaller and its larger holes closed."""
    for hole in _HOLES:
        mask = cv2.morphologyEx(
            lighter.astype(np.uint8), cv2.MORPH_CLOSE, np.ones((hole, hole), np.uint8)
        )
        mask = cv2.morphologyEx(mask, cv2.MORPH_OPEN, np.ones((9, 9), np.uint8))
        yield np.asarray(mask, dtype=np.uint8)


def _four_corners(
    contour: NDArray[np.int32], edges: NDArray[np.float32]
) -> tuple[float, Corners] | None:
    """How much the region looks like a screen with writing on it, and its corners."""
    hull = cv2.convexHull(contour)
    share = cv2.contourArea(hull) / edges.size
    if not _LEAST < share < _MOST:
        return None
    length = cv2.arcLength(hull, True)
    for epsilon in np.linspace(0.01, 0.12, 23):
        corners = cv2.approxPolyDP(hull, epsilon * length, True)
        if len(corners) == 4:
            break
    else:
        return None
    fit = min(cv2.contourArea(corners), cv2.contourArea(hull)) / max(
        cv2.contourArea(corners), cv2.contourArea(hull), 1.0
    )
    filled = cv2.contourArea(contour) / max(cv2.contourArea(hull), 1.0)
    points = corners.reshape(4, 2).astype(np.float64)
    if fit < _STRAIGHT or filled < 0.8 or _too_long(points):
        return None
    inside = np.zeros(edges.shape, np.uint8)
    cv2.fillConvexPoly(inside, np.round(_shrunk(points, 0.9)).astype(np.int32), 1)
    writing = float(edges[inside > 0].mean()) / float(edges.mean() + 1.0)
    cut_off = _CUT_OFF ** _on_the_edge(points, edges.shape)
    return fit * filled * share**0.25 * writing**0.5 * cut_off, _ordered(points)


def _too_long(points: Corners) -> bool:
    sides = np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1)
    first, second = float(sides[0] + sides[2]), float(sides[1] + sides[3])
    return max(first, second) > _LONGEST * min(first, second)


def _on_the_edge(points: Corners, shape: tuple[int, ...]) -> int:
    """How many corners lie on the photograph's edge: a wall does, a screen hardly ever."""
    far = np.array([shape[1] - 1, shape[0] - 1])
    return int(((points < 4) | (points > far - 4)).any(axis=1).sum())


def _shrunk(points: Corners, factor: float) -> Corners:
    middle = points.mean(axis=0)
    return np.asarray(middle + factor * (points - middle))


def _ordered(points: Corners) -> Corners:
    middle = points.mean(axis=0)
    angles = np.arctan2(points[:, 1] - middle[1], points[:, 0] - middle[0])
    ring = points[np.argsort(angles)]
    first = int(np.argmin(ring.sum(axis=1)))
    return np.roll(ring, -first, axis=0)


def straightened(
    pixels: NDArray[np.uint8], corners: Corners, room: float = 0.03, longest: int = 1800
) -> tuple[NDArray[np.uint8], NDArray[np.float64]]:
    """The region between the corners seen straight on, with ``room`` (share of its size) around,
    and the 3 x 3 matrix from its pixels to those of ``pixels``. Lying, as monitors do."""
    sides = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
    if sides[1] + sides[3] > sides[0] + sides[2]:
        corners, sides = np.roll(corners, -1, axis=0), np.roll(sides, -1)
    wide, high = max(sides[0], sides[2]), max(sides[1], sides[3])
    scale = min(1.0, longest / max(wide, high))
    wide, high = max(16.0, wide * scale), max(16.0, high * scale)
    x, y = room * wide, room * high
    target = np.array([[x, y], [x + wide, y], [x + wide, y + high], [x, y + high]])
    size = (round(wide + 2 * x), round(high + 2 * y))
    there = cv2.getPerspectiveTransform(corners.astype(np.float32), target.astype(np.float32))
    shrunk = np.eye(3)
    if scale < 0.75:
        # Shrinking while warping would leave out pixels.
        small = (max(1, round(pixels.shape[1] * scale)), max(1, round(pixels.shape[0] * scale)))
        shrunk = np.diag([pixels.shape[1] / small[0], pixels.shape[0] / small[1], 1.0])
        pixels = np.asarray(cv2.resize(pixels, small, interpolation=cv2.INTER_AREA), dtype=np.uint8)
    straight = cv2.warpPerspective(
        pixels, there @ shrunk, size, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    return np.asarray(straight, dtype=np.uint8), np.asarray(np.linalg.inv(there), dtype=np.float64)
