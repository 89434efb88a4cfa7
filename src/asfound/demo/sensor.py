"""What the phone makes of the light: exposure, read-out, noise, tone, sharpening.

Light is kept in three planes, strip by strip, so that the working set stays small.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.demo.conditions import Conditions
from asfound.demo.light import Light, Pixels, resized
from asfound.demo.moire import Grid, modulate
from asfound.demo.pose import Matrix, project

# The photograph's surroundings and finger are drawn this many times smaller.
SMALL = 4

_STRIP = 48
_BRIGHTEST = 2.5


@dataclass(frozen=True, slots=True)
class Scene:
    """All that a photograph is developed from; light is already multiplied by ``gain``."""

    conditions: Conditions
    face: Light
    face_to_photo: Matrix
    grid: Grid
    surroundings: Light
    finger: Light | None


def gain(conditions: Conditions, mean_light: float) -> NDArray[np.float32]:
    """Gain per channel, to the square of the sensor's 8 bit full scale: automatic exposure by
    the screen's mean light, and white balance."""
    automatic = float(np.clip(0.22 / (mean_light + 0.02), 0.75, 1.6))
    level = automatic * 2.0**conditions.exposure * 255**2 / _BRIGHTEST
    warm = conditions.warmth
    return np.array([level * (1 + warm), level, level * (1 - warm)], np.float32)


def develop(rng: np.random.Generator, scene: Scene) -> Pixels:
    """The photograph, (H, W, 3) RGB.

    Light is turned to its square root before noise is added: shot noise has the same spread
    there at every brightness (variance stabilised as by Anscombe, Biometrika 35, 1948).
    """
    width, height = scene.conditions.size
    out = np.empty((height, width, 3), np.uint8)
    curve, bands = _tone_curve(), _bands(rng, scene.conditions)
    noise = _noise(rng, scene.conditions)
    columns = _columns(scene, width)
    for top in range(0, height, _STRIP):
        rows = min(_STRIP, height - top)
        planes = _exposed(scene, bands, top, rows, columns)
        start = int(rng.integers(0, noise.shape[1] - rows + 1))
        for plane, grain in zip(planes, noise, strict=True):
            np.sqrt(plane, out=plane)
            plane += grain[start : start + rows]
            np.maximum(plane, 0, out=plane)
        coded = [cv2.LUT(cv2.convertScaleAbs(plane), curve) for plane in planes]
        cv2.merge(coded, out[top : top + rows])
    return _sharpened(out)


def _columns(scene: Scene, width: int) -> tuple[int, int]:
    """The photograph's columns that the monitor touches."""
    high, wide = scene.face.shape[:2]
    corners = np.array([[0, 0], [wide, 0], [wide, high], [0, high]], dtype=float)
    xs = project(scene.face_to_photo, corners)[:, 0]
    low = int(np.clip(np.floor(xs.min()) - 1, 0, width - 1))
    return low, int(np.clip(np.ceil(xs.max()) + 1, low + 1, width))


def _exposed(
    scene: Scene, bands: NDArray[np.float32], top: int, rows: int, columns: tuple[int, int]
) -> list[Light]:
    """Light on the sensor for ``rows`` rows from ``top``: three planes (rows, width)."""
    width = scene.conditions.size[0]
    low, high = columns
    moved = np.array([[1, 0, -low], [0, 1, -top], [0, 0, 1.0]]) @ scene.face_to_photo
    seen = cv2.warpPerspective(scene.face, moved, (high - low, rows), flags=cv2.INTER_LINEAR)
    *front, cover = (np.asarray(plane, np.float32) for plane in cv2.split(seen))
    modulate(front, scene.grid, low, top)
    bare = 1 - cover
    hidden = None if scene.finger is None else _enlarged(scene.finger, top, rows, width)
    fall = _vignette(scene.conditions, top, rows)
    planes = _enlarged(scene.surroundings, top, rows, width)
    for index, plane in enumerate(planes):
        part = plane[:, low:high]
        part *= bare
        front[index] *= bands[top : top + rows, None]
        part += front[index]
        if hidden is not None:
            plane *= 1 - hidden[3]
            plane += hidden[index]
        plane *= fall
    return planes


def _vignette(conditions: Conditions, top: int, rows: int) -> NDArray[np.float32]:
    """Share of light that is left toward the edges, (rows, width)."""
    width, height = conditions.size
    ys = ((np.arange(top, top + rows, dtype=np.float32) - height / 2) * 2 / width) ** 2
    xs = ((np.arange(width, dtype=np.float32) - width / 2) * 2 / width) ** 2
    share = np.float32(conditions.vignette / 1.6)
    fall: NDArray[np.float32] = 1 - (ys[:, None] + xs[None, :]).astype(np.float32) * share
    return fall


def _enlarged(small: Light, top: int, rows: int, width: int) -> list[Light]:
    """Rows ``top`` onward of ``small`` enlarged to the photograph, in planes."""
    share = 1 / SMALL
    back = np.array([[share, 0, share / 2 - 0.5], [0, share, (top + 0.5) * share - 0.5]])
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    strip = cv2.warpAffine(small, back, (width, rows), flags=flags, borderMode=cv2.BORDER_REPLICATE)
    return [np.asarray(plane, np.float32) for plane in cv2.split(strip)]


def _bands(rng: np.random.Generator, conditions: Conditions) -> NDArray[np.float32]:
    """Brightness of each sensor row: the backlight flickers while rows are read out."""
    rows = np.arange(conditions.size[1]) / conditions.size[1]
    count, phase = rng.uniform(2, 7), rng.uniform(0, 2 * np.pi)
    wave = np.tanh(2 * np.sin(2 * np.pi * count * rows + phase)) / np.tanh(2)
    bands: NDArray[np.float32] = (1 - conditions.bands * (0.5 + 0.5 * wave)).astype(np.float32)
    return bands


def _noise(rng: np.random.Generator, conditions: Conditions) -> NDArray[np.float32]:
    """A band of sensor noise (3, rows, width): grey grain, and coarser colour grain."""
    rows, width = _STRIP * 2, conditions.size[0]
    grey = rng.standard_normal((rows, width), dtype=np.float32)
    colour = rng.standard_normal((3, rows // 2, width // 2), dtype=np.float32)
    grain = [grey + 0.6 * resized(plane, (width, rows)) for plane in colour]
    noise: NDArray[np.float32] = np.stack(grain) * np.float32(conditions.noise)
    return noise


def _tone_curve() -> NDArray[np.uint8]:
    """Square root of light (8 bit, up to the brightest) to the file's values: a shoulder that
    spares highlights, then the sRGB encoding (IEC 61966-2-1)."""
    light = (np.arange(256) / 255) ** 2 * _BRIGHTEST
    rolled = np.where(light < 0.7, light, 0.7 + 0.3 * (1 - np.exp(-(light - 0.7) / 0.3)))
    coded = np.where(
        rolled <= 0.0031308, rolled * 12.92, 1.055 * np.maximum(rolled, 1e-9) ** (1 / 2.4) - 0.055
    )
    return np.round(np.clip(coded, 0, 1) * 255).astype(np.uint8)


def _sharpened(pixels: Pixels) -> Pixels:
    """The phone's own sharpening."""
    soft = cv2.GaussianBlur(pixels, (5, 5), 1.1)
    return np.asarray(cv2.addWeighted(pixels, 1.4, soft, -0.4, 0, soft), np.uint8)
