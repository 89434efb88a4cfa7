"""Where the phone is: a pinhole camera before a flat monitor.

The monitor's screen lies in the plane z = 0, its centre at the origin, x to the right, y down
(millimetres). A point is projected by K [R | t] (pinhole model, as in Hartley and Zisserman,
Multiple View Geometry, 2nd ed. 2004, section 6.1); for points of the plane that is the
homography K [r1 r2 t].
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from asfound.demo.conditions import Conditions

Matrix = NDArray[np.float64]


def take_aim(
    conditions: Conditions, screen_mm: tuple[float, float], rng: np.random.Generator
) -> Matrix:
    """Homography (3 x 3) from screen millimetres to pixels of the sensor's picture, at the
    distance where the screen fills its share of the frame."""
    width, height = conditions.size
    focal = width / 2 / np.tan(np.radians(conditions.field_of_view) / 2)
    inner = np.array([[focal, 0, width / 2], [0, focal, height / 2], [0, 0, 1]])
    turn = np.radians(conditions.roll + 90 * conditions.hold)
    slack = 0.5 * (1 - conditions.fill)
    aim = rng.uniform(-0.5, 0.5, 2) * slack * np.array(screen_mm)
    near, far = 20.0, 20000.0
    for _ in range(40):
        distance = (near * far) ** 0.5
        matrix = inner @ _outer(conditions, turn, aim, distance)
        if _fits(matrix, conditions, screen_mm):
            far = distance
        else:
            near = distance
    return inner @ _outer(conditions, turn, aim, far)


def project(matrix: Matrix, points: NDArray[np.float64]) -> NDArray[np.float64]:
    """``points`` (N, 2) through a homography."""
    flat = np.column_stack([points, np.ones(len(points))]) @ matrix.T
    out: NDArray[np.float64] = flat[:, :2] / flat[:, 2:]
    return out


def screen_corners(screen_mm: tuple[float, float]) -> NDArray[np.float64]:
    """The screen's corners (4, 2) in millimetres, clockwise from the top left."""
    x, y = screen_mm[0] / 2, screen_mm[1] / 2
    return np.array([[-x, -y], [x, -y], [x, y], [-x, y]])


def _outer(
    conditions: Conditions, turn: float, aim: NDArray[np.float64], distance: float
) -> Matrix:
    """[r1 r2 t] of a camera ``distance`` from the aim point, off axis by the tilt."""
    tilt = np.radians(conditions.tilt)
    toward = np.array(
        [np.sin(tilt) * np.cos(conditions.side), np.sin(tilt) * np.sin(conditions.side),
         -np.cos(tilt)]
    )  # fmt: skip
    target = np.array([aim[0], aim[1], 0.0])
    centre = target + toward * distance
    ahead = -toward
    right = np.cross(np.array([0.0, 1.0, 0.0]), ahead)
    right /= np.linalg.norm(right)
    down = np.cross(ahead, right)
    spin = np.array([[np.cos(turn), -np.sin(turn), 0], [np.sin(turn), np.cos(turn), 0], [0, 0, 1]])
    rotation = spin @ np.stack([right, down, ahead])
    shift = -rotation @ centre
    return np.column_stack([rotation[:, 0], rotation[:, 1], shift])


def _fits(matrix: Matrix, conditions: Conditions, screen_mm: tuple[float, float]) -> bool:
    """True when the screen is wholly in the frame and takes at most its share of a side."""
    corners = screen_corners(screen_mm)
    depth = np.column_stack([corners, np.ones(4)]) @ matrix[2]
    if np.any(depth <= 1e-6):
        return False
    seen = project(matrix, corners)
    frame = np.array(conditions.size, dtype=float)
    edge = frame * 0.02
    if np.any(seen < edge) or np.any(seen > frame - edge):
        return False
    extent = np.ptp(seen, axis=0) / frame
    return bool(np.max(extent) <= conditions.fill)
