"""The monitor's pixel grid as the camera samples it: fine stripes, or moiré where it aliases.

A panel pixel is three upright stripes (red, green, blue) between black lines. Each stripe's
transmission over the panel coordinate u (in panel pixels) is a Fourier series; the lens passes
each harmonic by its modulation transfer, exp(-2 pi^2 sigma^2 f^2) for a Gaussian of sigma
pixels at f cycles per pixel (Goodman, Introduction to Fourier Optics, on transfer functions;
the Gaussian is its own transform). Evaluated only at the photograph's pixels, harmonics above
half a cycle per pixel fold down by themselves: that is the moiré.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.demo.light import Light

_STRIPE = 0.28
_LIT_ROWS = 0.86
_PHASES = (1 / 6, 1 / 2, 5 / 6)
_MOST = 0.3
_LEAST = 0.004


@dataclass(frozen=True, slots=True)
class Grid:
    """``to_panel`` (3 x 3): photograph pixels to panel pixels; ``across`` and ``down`` are the
    depths that are left of the stripes and of the row gaps."""

    to_panel: NDArray[np.float64]
    panel: tuple[int, int]
    across: float
    down: float


def seen_grid(
    to_panel: NDArray[np.float64],
    panel: tuple[int, int],
    middle: tuple[float, float],
    sigma_px: float,
    strength: float,
) -> Grid:
    """How deep the grid shows through a lens of ``sigma_px`` (photograph pixels), by the
    density at ``middle``; ``strength`` 0..1 scales it."""
    across_f, down_f = _frequencies(to_panel, middle)

    def passed(amount: float, frequency: float) -> float:
        left = amount * float(np.exp(-2 * (np.pi * sigma_px * frequency) ** 2))
        return strength * min(_MOST, left)

    across = passed(2 * float(np.sinc(_STRIPE)), across_f)
    down = passed(2 * abs(float(np.sinc(_LIT_ROWS))), down_f)
    return Grid(to_panel, panel, across, down)


def modulate(planes: list[Light], grid: Grid, left: int, top: int) -> None:
    """Multiply the light of three planes (h, w), whose first pixel is (left, top) of the
    photograph, by the grid, in place and only where the panel is."""
    if grid.across < _LEAST and grid.down < _LEAST:
        return
    height, width = planes[0].shape
    xs = np.arange(left, left + width, dtype=np.float64)[None, :]
    ys = np.arange(top, top + height, dtype=np.float64)[:, None]
    m = grid.to_panel
    depth = (m[2, 0] * xs + (m[2, 1] * ys + m[2, 2])).astype(np.float32)
    u = (m[0, 0] * xs + (m[0, 1] * ys + m[0, 2])).astype(np.float32) / depth
    v = (m[1, 0] * xs + (m[1, 1] * ys + m[1, 2])).astype(np.float32) / depth
    inside = (u >= 0) & (u < grid.panel[0]) & (v >= 0) & (v < grid.panel[1])
    turn = np.float32(2 * np.pi)
    u -= np.floor(u)
    v -= np.floor(v)
    depth = inside.astype(np.float32)
    cos_u, sin_u = _waves(u * turn, depth * np.float32(grid.across))
    rows = 1 - _waves(v * turn, depth * np.float32(grid.down))[0]
    for plane, phase in zip(planes, _PHASES, strict=True):
        angle = 2 * np.pi * phase
        stripes = 1 + cos_u * np.float32(np.cos(angle)) + sin_u * np.float32(np.sin(angle))
        plane *= stripes * rows


def _waves(
    angle: NDArray[np.float32], height: NDArray[np.float32]
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """height * cos(angle) and height * sin(angle)."""
    cosine, sine = cv2.polarToCart(height, angle)
    return np.asarray(cosine, np.float32), np.asarray(sine, np.float32)


def _frequencies(to_panel: NDArray[np.float64], middle: tuple[float, float]) -> tuple[float, float]:
    """Panel pixels per photograph pixel at ``middle``, along u and along v."""
    here = _at(to_panel, *middle)
    by_x = _at(to_panel, middle[0] + 1, middle[1]) - here
    by_y = _at(to_panel, middle[0], middle[1] + 1) - here
    return float(np.hypot(by_x[0], by_y[0])), float(np.hypot(by_x[1], by_y[1]))


def _at(matrix: NDArray[np.float64], x: float, y: float) -> NDArray[np.float64]:
    point = matrix @ np.array([x, y, 1.0])
    out: NDArray[np.float64] = point[:2] / point[2]
    return out
