"""A small plug-in monitor: its panel showing the video signal, its frame, its glass."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.demo.light import Light, Pixels, resized

# Panels that such monitors have: pixels across and down.
_PANELS = ((800, 480), (1024, 600), (1280, 720))
_GAMMA = 2.2


@dataclass(frozen=True, slots=True)
class Monitor:
    """``panel`` in pixels; ``screen_mm`` (width, height); ``frame_mm`` (left, top, right,
    bottom); colours as linear reflectances; ``black`` is the glow of a black pixel."""

    panel: tuple[int, int]
    screen_mm: tuple[float, float]
    frame_mm: tuple[float, float, float, float]
    plastic: tuple[float, float, float]
    tint: tuple[float, float, float]
    black: float
    buttons: int
    buttons_below: bool
    lamp: tuple[float, float, float]


def draw_monitor(rng: np.random.Generator, signal: tuple[int, int]) -> Monitor:
    """A monitor fit to show a signal of this size (width, height)."""
    panels = [panel for panel in _PANELS if panel[0] >= signal[0] * 0.95]
    panel = panels[int(rng.integers(len(panels)))]
    width = float(rng.choice([154.0, 198.0, 222.0]))
    edge = float(rng.uniform(9, 16))
    below = bool(rng.random() < 0.6)
    wide = edge + float(rng.uniform(8, 14))
    grey = float(rng.uniform(0.02, 0.07))
    shade = rng.uniform(0.94, 1.06, 3)
    tint = 1 + rng.uniform(-0.05, 0.05, 3)
    return Monitor(
        panel,
        (width, width * panel[1] / panel[0]),
        (edge, edge, edge if below else wide, wide if below else edge),
        tuple(grey * shade),
        tuple(tint),
        float(rng.uniform(0.002, 0.008)),
        int(rng.integers(4, 7)),
        below,
        (0.05, 0.9, 0.15) if rng.random() < 0.5 else (0.9, 0.06, 0.04),
    )


def emitted(
    monitor: Monitor, screen: Pixels, tilt_degrees: float, rng: np.random.Generator
) -> Light:
    """Linear light of the panel (panel height, panel width, 3), white = 1.

    Seen from the side a panel loses contrast; its backlight is a little uneven.
    """
    across = cv2.INTER_AREA if screen.shape[1] > monitor.panel[0] else cv2.INTER_LINEAR
    signal = cv2.resize(screen, monitor.panel, interpolation=across)
    table = (np.arange(256, dtype=np.float32) / 255) ** _GAMMA
    light: Light = table[signal]
    washed = 0.0006 * tilt_degrees
    light = light * np.float32(1 - washed) + np.float32(washed)
    uneven = cv2.resize(
        rng.uniform(0.9, 1.04, (3, 4)).astype(np.float32), monitor.panel,
        interpolation=cv2.INTER_CUBIC,
    )  # fmt: skip
    light = (light + np.float32(monitor.black)) * uneven[:, :, None]
    out: Light = light * np.array(monitor.tint, np.float32)
    return out


def face(
    monitor: Monitor, light: Light, reflection: Light, ambient: NDArray[np.float32], scale: float
) -> Light:
    """The monitor from the front, (H, W, 4): premultiplied linear RGB and cover.

    ``ambient`` is the light on the frame (per channel); ``scale`` is pixels per millimetre;
    one pixel of margin all round is empty.
    """
    left, top, right, bottom = (round(side * scale) for side in monitor.frame_mm)
    wide, high = (round(side * scale) for side in monitor.screen_mm)
    size = (high + top + bottom, wide + left + right)
    shades = _case(monitor, size, scale)
    places = _button_places(monitor, size, (left, top, wide, high))
    _buttons(shades, places[:-1], scale)
    glass = resized(light, (wide, high))
    glass += resized(reflection, (wide, high))
    cover = _rounded(size, max(2, round(5 * scale)))
    shades = np.pad(shades * cover, 1)
    lamp_at = (places[-1][0] + 1, places[-1][1] + 1)
    planes = []
    for index, screen in enumerate(cv2.split(glass)):
        plane = shades * (np.float32(monitor.plastic[index]) * ambient[index])
        lamp = float(monitor.lamp[index] * light[:, :, index].max() * 0.5)
        cv2.circle(plane, lamp_at, max(1, round(0.8 * scale)), lamp, -1, cv2.LINE_AA)
        plane[top + 1 : top + 1 + high, left + 1 : left + 1 + wide] = screen
        planes.append(plane)
    return np.asarray(cv2.merge([*planes, np.pad(cover, 1)]), np.float32)


def to_face(monitor: Monitor, scale: float) -> NDArray[np.float64]:
    """Homography from screen millimetres (origin at the centre) to pixels of ``face``."""
    left, top = (round(side * scale) for side in monitor.frame_mm[:2])
    wide, high = (round(side * scale) for side in monitor.screen_mm)
    x, y = wide / monitor.screen_mm[0], high / monitor.screen_mm[1]
    return np.array([[x, 0, left + 0.5 + wide / 2], [0, y, top + 0.5 + high / 2], [0, 0, 1]])


def _case(monitor: Monitor, size: tuple[int, int], scale: float) -> Light:
    """Shades (H, W) of the plastic frame: lighter toward the top, a bevel at its outer edge
    and a dark rim round the glass."""
    case = np.ones(size, np.float32) * np.linspace(1.25, 0.8, size[0], dtype=np.float32)[:, None]
    bevel = max(1, round(1.2 * scale))
    case[:bevel] *= 1.9
    case[-bevel:] *= 0.5
    case[:, :bevel] *= 1.3
    case[:, -bevel:] *= 0.7
    left, top, right, bottom = (round(side * scale) for side in monitor.frame_mm)
    rim = max(1, round(1.5 * scale))
    case[top - rim : size[0] - bottom + rim, left - rim : size[1] - right + rim] *= 0.35
    return case


def _button_places(
    monitor: Monitor, size: tuple[int, int], glass: tuple[int, int, int, int]
) -> list[tuple[int, int]]:
    """Where the buttons are, and last the lamp, on the wide side of the frame."""
    left, top, wide, high = glass
    shares = [(index + 1) / (monitor.buttons + 2) for index in range(monitor.buttons + 1)]
    if monitor.buttons_below:
        return [(left + round(wide * share), (top + high + size[0]) // 2) for share in shares]
    return [((left + wide + size[1]) // 2, top + round(high * share)) for share in shares]


def _buttons(shades: Light, places: list[tuple[int, int]], scale: float) -> None:
    """Unmarked oval buttons with a lit upper edge."""
    half = max(2, round(2.4 * scale))
    axes = (round(half * 1.7), half)
    for place in places:
        cv2.ellipse(shades, place, axes, 0, 0, 360, 1.6, -1, cv2.LINE_AA)
        cv2.ellipse(shades, place, axes, 0, 190, 350, 2.8, 1, cv2.LINE_AA)


def _rounded(size: tuple[int, int], radius: int) -> NDArray[np.float32]:
    """Cover 0..1 of a rectangle with rounded corners."""
    cover = np.zeros(size, np.uint8)
    high, wide = size[0] - 1, size[1] - 1
    cv2.rectangle(cover, (radius, 0), (wide - radius, high), 255, -1)
    cv2.rectangle(cover, (0, radius), (wide, high - radius), 255, -1)
    for x in (radius, wide - radius):
        for y in (radius, high - radius):
            cv2.circle(cover, (x, y), radius, 255, -1, cv2.LINE_AA)
    return cover.astype(np.float32) / np.float32(255)
