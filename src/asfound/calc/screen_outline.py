"""Find the lit screen in a photograph, and look at it straight on."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

_LOOK = 480
"""Longest side, in pixels, at which the screen is looked for."""

_LEAST, _MOST = 0.03, 0.9
"""Share of the photograph that a screen may take."""

_STRAIGHT = 0.88
"""Share of the lit region's hull that its four-cornered outline must agree with."""

Corners = NDArray[np.float64]
"""4 x 2 pixels, clockwise from the corner nearest the photograph's top left."""


def screen_outline(pixels: NDArray[np.uint8]) -> Corners | None:
    """Corners of the largest lit four-cornered region; None where there is none.

    ``pixels``: h x w x 3, RGB.
    """
    scale = min(1.0, _LOOK / max(pixels.shape[:2]))
    size = (max(1, round(pixels.shape[1] * scale)), max(1, round(pixels.shape[0] * scale)))
    small = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA)
    # The brightest channel: a deep blue ground is dark in luma, yet lit.
    light = cv2.GaussianBlur(small.max(axis=2), (0, 0), 2.0)
    # Writing has edges; a lit window or a wall has few.
    edges = np.abs(cv2.Laplacian(small.max(axis=2), cv2.CV_32F))
    best: tuple[float, Corners] | None = None
    otsu, _ = cv2.threshold(light, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    for level in (otsu, 0.6 * otsu, 0.5 * (otsu + float(np.percentile(light, 97)))):
        mask = (light > level).astype(np.uint8)
        mask = cv2.morphologyEx(mask, cv2.MORPH_CLOSE, np.ones((15, 15), np.uint8))
        mask = cv2.morphologyEx(mask, cv2.MORPH_OPEN, np.ones((9, 9), np.uint8))
        contours, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)
        for contour in contours:
            found = _four_corners(np.asarray(contour, dtype=np.int32), edges)
            if found is not None and (best is None or found[0] > best[0]):
                best = found
    return None if best is None else best[1] / scale


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
    if fit < _STRAIGHT or filled < 0.8:
        return None
    points = corners.reshape(4, 2).astype(np.float64)
    inside = np.zeros(edges.shape, np.uint8)
    cv2.fillConvexPoly(inside, np.round(_shrunk(points, 0.9)).astype(np.int32), 1)
    writing = float(edges[inside > 0].mean()) / float(edges.mean() + 1.0)
    return fit * filled * share**0.25 * writing**0.5, _ordered(points)


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
