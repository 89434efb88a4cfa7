"""A phone photograph of the monitor: pose, light, lens, sensor, file."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.demo import cab
from asfound.demo.conditions import Conditions, Severity, draw_conditions
from asfound.demo.jpeg import encode
from asfound.demo.light import Light, Pixels, resized
from asfound.demo.moire import Grid, seen_grid
from asfound.demo.monitor import Monitor, draw_monitor, emitted, face, to_face
from asfound.demo.optics import lens_sigma, through_lens
from asfound.demo.pose import Matrix, project, screen_corners, take_aim
from asfound.demo.sensor import SMALL, Scene, develop, gain

# Quarter turns clockwise that the scene lies in the file -> EXIF orientation (CIPA DC-008,
# tag 0x0112) that says how to turn it upright.
_TAGS = {0: 1, 1: 8, 2: 3, 3: 6}

# The monitor's face is drawn with at most this many pixels on its screen.
_MOST_PIXELS = 2.4e6


@dataclass(frozen=True)
class Shot:
    """A photograph. ``pixels`` (H, W, 3) RGB are the file's, before ``orientation``.

    ``orientation`` is the EXIF tag (1, 3, 6, 8), None when the file has none; ``turns`` is by
    how many quarter turns clockwise the scene really lies in ``pixels``; ``corners`` (4, 2)
    are the screen's corners in ``pixels``, from the menu's top left clockwise; ``to_photo``
    maps the screen's millimetres (origin at its centre) to ``pixels``.
    """

    pixels: Pixels
    jpeg: bytes
    orientation: int | None
    turns: int
    corners: NDArray[np.float64]
    to_photo: Matrix
    screen_mm: tuple[float, float]
    conditions: Conditions
    taken: datetime | None


def photograph(
    screen: Pixels,
    seed: int,
    severity: Severity = "clean",
    taken: datetime | None = None,
    size: tuple[int, int] | None = None,
) -> Shot:
    """Photograph a monitor that shows ``screen`` (H, W, 3 RGB). Same arguments, same file.

    ``taken`` (aware) becomes the EXIF capture time; ``size`` forces the sensor's (width,
    height), e.g. (8160, 6120).
    """
    rng = np.random.default_rng(seed)
    signal = (screen.shape[1], screen.shape[0])
    conditions = draw_conditions(rng, severity, signal[0], size)
    monitor = draw_monitor(rng, signal)
    to_photo = take_aim(conditions, monitor.screen_mm, rng)
    pixels = develop(rng, lit_scene(rng, screen, conditions, monitor, to_photo))
    orientation = _TAGS[conditions.hold] if conditions.tagged else None
    written = taken if taken is None or conditions.offset_tag else taken.replace(tzinfo=None)
    return Shot(
        pixels,
        encode(pixels, conditions.quality, orientation, written),
        orientation,
        conditions.hold,
        project(to_photo, screen_corners(monitor.screen_mm)),
        to_photo,
        monitor.screen_mm,
        conditions,
        taken,
    )


def lit_scene(
    rng: np.random.Generator,
    screen: Pixels,
    conditions: Conditions,
    monitor: Monitor,
    to_photo: Matrix,
) -> Scene:
    """The monitor showing ``screen`` in its cab, as the lens throws it on the sensor."""
    light = emitted(monitor, screen, conditions.tilt, rng)
    levels = gain(conditions, float(light.mean()))
    glass = _on_glass(rng, conditions)
    scale = _scale(to_photo, monitor)
    front = face(monitor, light * levels, glass * levels, conditions.ambient * levels, scale)
    face_to_photo = to_photo @ np.linalg.inv(to_face(monitor, scale))
    outline = _outline(front, face_to_photo)
    small = (conditions.size[0] // SMALL, conditions.size[1] // SMALL)
    around = cab.surroundings(rng, small, outline / SMALL, conditions.ambient) * levels
    hidden = None
    if conditions.finger:
        hidden = cab.finger(rng, small, conditions.ambient)
        hidden[:, :, :3] *= levels
    front = through_lens(front, face_to_photo, conditions)
    return Scene(
        conditions, front, face_to_photo, _grid(monitor, conditions, to_photo), around, hidden
    )


def _on_glass(rng: np.random.Generator, conditions: Conditions) -> Light:
    """Reflections and bright spots on the screen's glass, a small picture.

    Weak spots stay at the upper or lower edge; strong ones fall anywhere, over text too.
    """
    size = (160, 96)
    glass = resized(cab.mirrored(rng, conditions.reflection), size, cv2.INTER_CUBIC)
    weak = max(conditions.glare, default=0.0) < 0.35
    spots = cab.bright_spots(rng, size, conditions.glare, at_edge=weak)
    return np.maximum(glass, 0) + spots


def _scale(to_photo: Matrix, monitor: Monitor) -> float:
    """Pixels per millimetre to draw the face with: the photograph's density, within reason."""
    points = project(to_photo, np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
    density = float(np.linalg.svd(points[1:] - points[0], compute_uv=False)[0])
    area = monitor.screen_mm[0] * monitor.screen_mm[1]
    return min(density, float((_MOST_PIXELS / area) ** 0.5))


def _outline(front: Light, face_to_photo: Matrix) -> NDArray[np.float64]:
    """The monitor's corners in the photograph."""
    high, wide = front.shape[:2]
    return project(face_to_photo, np.array([[0.0, 0], [wide, 0], [wide, high], [0, high]]))


def _grid(monitor: Monitor, conditions: Conditions, to_photo: Matrix) -> Grid:
    """The panel's pixel grid in the photograph."""
    (across, down), (wide, high) = monitor.panel, monitor.screen_mm
    to_panel = np.array([[across / wide, 0, across / 2], [0, down / high, down / 2], [0, 0, 1]])
    back = to_panel @ np.linalg.inv(to_photo)
    middle = project(to_photo, np.zeros((1, 2)))[0]
    at = (float(middle[0]), float(middle[1]))
    return seen_grid(back, monitor.panel, at, lens_sigma(conditions), conditions.moire)
