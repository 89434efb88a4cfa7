"""The dark cab round the monitor, what the glass mirrors, bright spots, and a finger."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.demo.light import Light, blurred


def surroundings(
    rng: np.random.Generator, size: tuple[int, int], outline: NDArray[np.float64], ambient: float
) -> Light:
    """Linear light (H, W, 3) of dashboard and windscreen; ``size`` (width, height) may be a
    small version of the photograph, ``outline`` (4, 2) is the monitor in those pixels."""
    width, height = size
    down = np.linspace(0, 1, height, dtype=np.float32)[:, None]
    across = np.linspace(-1, 1, width, dtype=np.float32)[None, :]
    horizon = float(rng.uniform(-0.3, 0.25))
    slant = float(rng.uniform(-0.12, 0.12))
    sky = 1 / (1 + np.exp((down - horizon - slant * across) * 14))
    dash = 0.05 + 0.04 * np.exp(-((down - horizon - 0.15) ** 2) / 0.02)
    tone = rng.uniform(0.85, 1.15, 3).astype(np.float32)
    scene = sky[:, :, None] * np.array([0.7, 0.8, 0.95], np.float32) + dash[:, :, None] * tone
    for _ in range(int(rng.integers(4, 9))):
        _shape(rng, scene)
    scene = blurred(scene, width * 0.006)
    scene *= _grain(rng, size)[:, :, None]
    _mount_and_shadow(rng, scene, outline)
    out: Light = (scene * np.float32(ambient)).astype(np.float32)
    return out


def mirrored(rng: np.random.Generator, strength: float) -> Light:
    """A small picture (H, W, 3) of what the glass reflects: windows and a dark figure."""
    height, width = 48, 80
    glass = np.full((height, width, 3), 0.25, np.float32)
    for _ in range(int(rng.integers(1, 4))):
        x, y = rng.uniform(-10, width), rng.uniform(-10, height)
        w, h = rng.uniform(12, 44), rng.uniform(10, 36)
        lean = rng.uniform(-8, 8)
        corners = np.array([[x, y], [x + w, y], [x + w + lean, y + h], [x + lean, y + h]])
        tone = np.array([0.85, 0.95, 1.1]) * rng.uniform(0.4, 1.0)
        cv2.fillPoly(glass, [corners.astype(np.int32)], tuple(tone.tolist()))
    figure = (int(rng.uniform(20, 60)), int(rng.uniform(26, 44)))
    cv2.ellipse(glass, figure, (9, 14), 0, 0, 360, (0.05, 0.05, 0.06), -1)
    glass = blurred(glass, float(rng.uniform(2.0, 4.5)))
    out: Light = (glass * np.float32(strength)).astype(np.float32)
    return out


def bright_spots(
    rng: np.random.Generator, size: tuple[int, int], strengths: tuple[float, ...], at_edge: bool
) -> Light:
    """Light (H, W, 1) of lamps that the glass mirrors; ``size`` (width, height) of a small
    version of the screen. ``at_edge`` puts them at its upper or lower edge."""
    width, height = size
    ys, xs = np.indices((height, width), dtype=np.float32)
    light = np.zeros((height, width), np.float32)
    for strength in strengths:
        x, y = rng.uniform(0.08, 0.92) * width, rng.uniform(0.08, 0.92) * height
        if at_edge:
            y = (rng.choice([0.02, 0.98]) + rng.uniform(-1, 1) * 0.05) * height
        radius = rng.uniform(0.02, 0.05) * width
        long = rng.uniform(1.0, 2.2)
        turn = rng.uniform(0, np.pi)
        u = ((xs - x) * np.cos(turn) + (ys - y) * np.sin(turn)) / long
        v = -(xs - x) * np.sin(turn) + (ys - y) * np.cos(turn)
        far = (u * u + v * v) / radius**2
        light += np.float32(strength) * (np.exp(-far * 1.6) + 0.12 * np.exp(-far / 14))
    out: Light = light[:, :, None]
    return out


def finger(rng: np.random.Generator, size: tuple[int, int], ambient: float) -> Light:
    """A finger before a corner of the lens, (H, W, 4): premultiplied light and cover."""
    width, height = size
    corner = np.array([width * rng.integers(0, 2), height * rng.integers(0, 2)], float)
    centre = np.array([width / 2, height / 2])
    inward = (centre - corner) / np.linalg.norm(centre - corner)
    tip = corner + inward * rng.uniform(0.12, 0.24) * width
    thick = rng.uniform(0.07, 0.12) * width
    cover = np.zeros((height, width), np.float32)
    root = corner - inward * width * 0.3
    cv2.line(cover, _whole(root), _whole(tip), 1.0, round(2 * thick))
    cv2.circle(cover, _whole(tip), round(thick), 1.0, -1)
    cover = blurred(cover, width * 0.02)
    skin = np.array([0.62, 0.36, 0.26], np.float32) * np.float32(0.25 + ambient)
    ys = np.linspace(0.7, 1.1, height, dtype=np.float32)[:, None, None]
    out: Light = np.concatenate([cover[:, :, None] * skin * ys, cover[:, :, None]], axis=2)
    return out


def _whole(point: NDArray[np.float64]) -> tuple[int, int]:
    return round(float(point[0])), round(float(point[1]))


def _shape(rng: np.random.Generator, scene: Light) -> None:
    """A knob, a vent, a seam or a shelf of the dashboard."""
    height, width = scene.shape[:2]
    x, y = int(rng.uniform(0, width)), int(rng.uniform(0, height))
    tone = tuple((rng.uniform(0.01, 0.16) * rng.uniform(0.9, 1.1, 3)).tolist())
    kind = int(rng.integers(4))
    if kind == 0:
        radius = int(rng.uniform(0.02, 0.06) * width)
        cv2.circle(scene, (x, y), radius, tone, -1)
        cv2.circle(scene, (x, y), radius, tuple(c * 2 for c in tone), max(1, radius // 8))
    elif kind == 1:
        for slat in range(6):
            top = y + slat * width // 40
            cv2.rectangle(scene, (x, top), (x + width // 6, top + width // 80), tone, -1)
    elif kind == 2:
        end = (int(rng.uniform(0, width)), y + int(rng.uniform(-0.1, 0.1) * height))
        cv2.line(scene, (x, y), end, tone, max(1, width // 120))
    else:
        far = (x + int(rng.uniform(0.1, 0.4) * width), y + int(rng.uniform(0.1, 0.4) * height))
        cv2.rectangle(scene, (x, y), far, tone, -1)


def _grain(rng: np.random.Generator, size: tuple[int, int]) -> NDArray[np.float32]:
    """The grain of moulded plastic, about 1."""
    width, height = size
    rough = rng.standard_normal((height, width), dtype=np.float32)
    coarse = blurred(rough, 1.2)
    out: NDArray[np.float32] = 1 + 0.25 * coarse
    return out


def _mount_and_shadow(rng: np.random.Generator, scene: Light, outline: NDArray[np.float64]) -> None:
    """The bracket under the monitor, and the shadow that the monitor throws."""
    height, width = scene.shape[:2]
    shade = np.zeros((height, width), np.float32)
    drop = np.array([rng.uniform(-0.02, 0.02), rng.uniform(0.0, 0.04)]) * width
    cv2.fillPoly(shade, [(outline + drop).astype(np.int32)], 1.0)
    shade = blurred(shade, width * 0.02)
    scene *= 1 - 0.6 * shade[:, :, None]
    right, left = outline[2], outline[3]
    downward = (outline[3] - outline[0]) * 0.8
    stem = np.array(
        [left * 0.58 + right * 0.42, left * 0.42 + right * 0.58,
         left * 0.44 + right * 0.56 + downward, left * 0.56 + right * 0.44 + downward]
    )  # fmt: skip
    cv2.fillPoly(scene, [stem.astype(np.int32)], (0.05, 0.05, 0.055), cv2.LINE_AA)
