"""Photographs with one known fault each, for the benchmark and tests of retake advice.

The camera simulator draws everyday conditions; here all of them are clean but the one that is
asked for. What was put into the picture is the truth that the advice is held against.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from asfound.demo.camera import lit_scene
from asfound.demo.conditions import Conditions, draw_conditions
from asfound.demo.jpeg import encode
from asfound.demo.monitor import draw_monitor
from asfound.demo.pose import project, screen_corners, take_aim
from asfound.demo.random_values import random_values
from asfound.demo.screen import DrawnPage, draw_page
from asfound.demo.sensor import develop
from asfound.demo.themes import Theme
from asfound.model.menu_map import MenuMap, Page

SIZE = (2048, 1536)
FAINT = 0.36
"""A spot of this strength falls where a strong one does, and hides nothing."""

_CLOCK = "2026-03-17 21:40:05"


@dataclass(frozen=True)
class Staged:
    """A photograph (RGB, upright) of one page; ``boxes``: field id -> the value's outline (4 x 2)
    and ``corners`` (4 x 2) the screen's, from the menu's top left clockwise, in its pixels."""

    pixels: NDArray[np.uint8]
    jpeg: bytes
    page: Page
    truth: Mapping[str, str]
    boxes: Mapping[str, NDArray[np.float64]]
    corners: NDArray[np.float64]
    conditions: Conditions


def stage(
    menu_map: MenuMap,
    page_id: str,
    theme: Theme,
    seed: int,
    faults: Mapping[str, Any] | None = None,
    size: tuple[int, int] = SIZE,
) -> Staged:
    """One page photographed by a steady hand in good light, but for ``faults``: fields of
    ``Conditions`` by name. Same arguments, same picture."""
    firmware = menu_map.firmware[-1]
    page = menu_map.page(page_id)
    rng = np.random.default_rng([seed, 77])
    values = random_values(menu_map, firmware, rng)
    truth = {field.id: values[field.id] for field in menu_map.page_fields(page, firmware)}
    drawn = draw_page(menu_map, page, truth, firmware, theme, None, _CLOCK)
    signal = (drawn.pixels.shape[1], drawn.pixels.shape[0])
    conditions = draw_conditions(rng, "clean", signal[0], size)
    conditions = replace(conditions, hold=0, tagged=True, **(faults or {}))
    monitor = draw_monitor(rng, signal)
    to_photo = take_aim(conditions, monitor.screen_mm, rng)
    pixels = develop(rng, lit_scene(rng, drawn.pixels, conditions, monitor, to_photo))
    return Staged(
        pixels,
        encode(pixels, conditions.quality, 1, None),
        page,
        truth,
        _boxes(drawn, monitor.screen_mm, to_photo),
        project(to_photo, screen_corners(monitor.screen_mm)),
        conditions,
    )


def _boxes(
    drawn: DrawnPage, screen_mm: tuple[float, float], to_photo: NDArray[np.float64]
) -> dict[str, NDArray[np.float64]]:
    size = (drawn.pixels.shape[1], drawn.pixels.shape[0])
    per_pixel = np.array([screen_mm[0] / size[0], screen_mm[1] / size[1]])
    origin = screen_corners(screen_mm)[0]
    boxes = {}
    for row in drawn.rows:
        x0, y0, x1, y1 = row.value_box
        corners = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])
        boxes[row.field_id] = project(to_photo, corners * per_pixel + origin)
    return boxes


def cut_off(shot: Staged, left: int, top: int, right: int, bottom: int) -> Staged:
    """The photograph without everything outside these pixels, as a careless frame has it."""
    shift = np.array([left, top], dtype=float)
    pixels = np.ascontiguousarray(shot.pixels[top:bottom, left:right])
    return replace(
        shot,
        pixels=pixels,
        jpeg=encode(pixels, shot.conditions.quality, 1, None),
        boxes={name: box - shift for name, box in shot.boxes.items()},
        corners=shot.corners - shift,
    )


def glare_map(
    menu_map: MenuMap,
    page_id: str,
    theme: Theme,
    seed: int,
    strength: float,
    size: tuple[int, int] = SIZE,
) -> NDArray[np.float64]:
    """How much brighter (luma, 0..255) a spot of ``strength`` makes each pixel."""
    strong, faint = (
        stage(menu_map, page_id, theme, seed, {"glare": (one,)}, size).pixels.mean(axis=2)
        for one in (strength, FAINT)
    )
    return np.asarray(np.maximum(strong - faint, 0.0), np.float64)


def write(shot: Staged, path: Path) -> Path:
    """Write the photograph's file."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(shot.jpeg)
    return path
