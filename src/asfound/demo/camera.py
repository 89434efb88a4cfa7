"""A phone photograph of the monitor: optics, light, sensor, file."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.demo import cab
from asfound.demo.conditions import Conditions, Severity, draw_conditions
from asfound.demo.jpeg import encode
from asfound.demo.light import Light, Pixels, blurred, resized
from asfound.demo.moire import Grid, modulate, seen_grid
from asfound.demo.monitor import Monitor, draw_monitor, emitted, face, to_face
from asfound.demo.pose import Matrix, project, screen_corners, take_aim

_STRIP = 96
_SENSOR_SIGMA = 0.45
_SMALL = 4
_BRIGHTEST = 2.5

# Quarter turns clockwise that the scene lies in the file -> EXIF orientation (CIPA DC-008,
# tag 0x0112) that says how to turn it upright.
_TAGS = {0: 1, 1: 8, 2: 3, 3: 6}


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


@dataclass(frozen=True, slots=True)
class _Scene:
    """All that a strip of the photograph is developed from."""

    conditions: Conditions
    face: Light
    face_to_photo: Matrix
    grid: Grid
    surroundings: Light
    finger: Light | None
    gain: NDArray[np.float32]
    bands: NDArray[np.float32]
    noise: NDArray[np.float32]


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
    pose = take_aim(conditions, monitor.screen_mm, rng)
    scene = _scene(rng, screen, conditions, monitor, pose.to_photo)
    pixels = _develop(rng, scene)
    orientation = _TAGS[conditions.hold] if conditions.tagged else None
    when = taken if taken is None or conditions.offset_tag else taken.replace(tzinfo=None)
    return Shot(
        pixels,
        encode(pixels, conditions.quality, orientation, when),
        orientation,
        conditions.hold,
        project(pose.to_photo, screen_corners(monitor.screen_mm)),
        pose.to_photo,
        monitor.screen_mm,
        conditions,
        taken,
    )


def _scene(
    rng: np.random.Generator,
    screen: Pixels,
    conditions: Conditions,
    monitor: Monitor,
    to_photo: Matrix,
) -> _Scene:
    width, height = conditions.size
    density = _density(to_photo)
    scale = min(density, (4.5e6 / (monitor.screen_mm[0] * monitor.screen_mm[1])) ** 0.5)
    light = emitted(monitor, screen, conditions.tilt, rng)
    glass = cab.mirrored(rng, conditions.reflection)
    glass = resized(glass, (160, 96), cv2.INTER_CUBIC)
    soft = 0.6 if max(conditions.glare, default=0.0) < 0.35 else 0.0
    glass = glass + cab.bright_spots(rng, (160, 96), conditions.glare, soft)
    front = face(monitor, light, glass.astype(np.float32), conditions.ambient, scale)
    face_to_photo = to_photo @ np.linalg.inv(to_face(monitor, scale))
    front = _blurred(front, face_to_photo, conditions)
    small = (width // _SMALL, height // _SMALL)
    size = (front.shape[1], front.shape[0])
    corners = np.array([[0, 0], [size[0], 0], [size[0], size[1]], [0, size[1]]], dtype=float)
    outline = project(face_to_photo, corners) / _SMALL
    around = cab.surroundings(rng, small, outline, conditions.ambient)
    hidden = cab.finger(rng, small, conditions.ambient) if conditions.finger else None
    return _Scene(
        conditions,
        front,
        face_to_photo,
        _grid(monitor, conditions, to_photo),
        around,
        hidden,
        _gain(conditions, float(light.mean())),
        _bands(rng, conditions),
        _noise(rng, conditions),
    )


def _density(to_photo: Matrix) -> float:
    """Photograph pixels per millimetre at the screen's centre, in the denser direction."""
    points = project(to_photo, np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
    return float(np.linalg.svd(points[1:] - points[0], compute_uv=False)[0])


def _blurred(front: Light, face_to_photo: Matrix, conditions: Conditions) -> Light:
    """Bloom, defocus, the sensor's own softness and shake, applied on the monitor's face.

    The blur is constant over the photograph; it is carried over to the face by the
    projection's derivative at the face's middle.
    """
    high, wide = front.shape[:2]
    small = resized(front[:, :, :3], (wide // 8, high // 8), cv2.INTER_AREA)
    halo = blurred(small, max(1.0, wide / 8 * 0.012))
    front[:, :, :3] += 0.035 * resized(halo, (wide, high)) * front[:, :, 3:]
    middle = np.array([[wide / 2, high / 2]])
    steps = middle + np.array([[0, 0], [1, 0], [0, 1]])
    seen = project(face_to_photo, steps)
    photo_to_face = np.linalg.inv((seen[1:] - seen[0]).T)
    sigma = float(np.hypot(conditions.defocus_px, _SENSOR_SIGMA))
    spread = np.sqrt(np.diag(photo_to_face @ photo_to_face.T)) * sigma
    out = blurred(front, float(spread[0]), float(spread[1]))
    way = np.array([np.cos(conditions.shake_way), np.sin(conditions.shake_way)])
    return _shaken(out, photo_to_face @ way * conditions.shake_px)


def _shaken(front: Light, path: NDArray[np.float64]) -> Light:
    """The mean of copies along a slightly bent path (pixels of the face)."""
    length = float(np.hypot(*path))
    if length < 0.7:
        return front
    count = int(min(9, max(3, round(length) + 1)))
    total = np.zeros_like(front)
    bend = np.array([-path[1], path[0]]) * 0.12
    for share in np.linspace(-0.5, 0.5, count):
        by = path * share + bend * (share * share * 4 - 1)
        shift = np.array([[1, 0, by[0]], [0, 1, by[1]]])
        size = (front.shape[1], front.shape[0])
        cv2.accumulate(cv2.warpAffine(front, shift, size, flags=cv2.INTER_LINEAR), total)
    total /= count
    return total


def _grid(monitor: Monitor, conditions: Conditions, to_photo: Matrix) -> Grid:
    wide, high = monitor.screen_mm
    to_panel = np.array(
        [[monitor.panel[0] / wide, 0, monitor.panel[0] / 2],
         [0, monitor.panel[1] / high, monitor.panel[1] / 2], [0, 0, 1]]
    ) @ np.linalg.inv(to_photo)  # fmt: skip
    middle = project(to_photo, np.zeros((1, 2)))[0]
    sigma = float(np.hypot(conditions.defocus_px, 0.3))
    sigma = float(np.hypot(sigma, conditions.shake_px * 0.29))
    at = (float(middle[0]), float(middle[1]))
    return seen_grid(to_panel, monitor.panel, at, sigma, conditions.moire)


def _gain(conditions: Conditions, mean_light: float) -> NDArray[np.float32]:
    """Gain per channel: automatic exposure by the screen's mean light, white balance."""
    automatic = float(np.clip(0.22 / (mean_light + 0.02), 0.75, 2.0))
    gain = automatic * 2.0**conditions.exposure
    return np.array(
        [gain * (1 + conditions.warmth), gain, gain * (1 - conditions.warmth)], np.float32
    )


def _bands(rng: np.random.Generator, conditions: Conditions) -> NDArray[np.float32]:
    """Brightness of each sensor row: the backlight flickers while rows are read out."""
    rows = np.arange(conditions.size[1]) / conditions.size[1]
    count, phase = rng.uniform(2, 7), rng.uniform(0, 2 * np.pi)
    wave = np.tanh(2 * np.sin(2 * np.pi * count * rows + phase)) / np.tanh(2)
    bands: NDArray[np.float32] = (1 - conditions.bands * (0.5 + 0.5 * wave)).astype(np.float32)
    return bands


def _noise(rng: np.random.Generator, conditions: Conditions) -> NDArray[np.float32]:
    """A band of sensor noise (rows, width, 3): grey grain, and coarser colour grain."""
    rows, width = _STRIP * 2, conditions.size[0]
    grey = rng.standard_normal((rows, width, 1), dtype=np.float32)
    colour = rng.standard_normal((rows // 2, width // 2, 3), dtype=np.float32)
    grain = grey + 0.6 * cv2.resize(colour, (width, rows), interpolation=cv2.INTER_LINEAR)
    grain *= np.float32(conditions.noise)
    out: NDArray[np.float32] = grain
    return out


def _develop(rng: np.random.Generator, scene: _Scene) -> Pixels:
    """The photograph, strip by strip so that the working set stays small."""
    width, height = scene.conditions.size
    out = np.empty((height, width, 3), np.uint8)
    curve = _tone_curve()
    columns = _columns(scene, width)
    for top in range(0, height, _STRIP):
        rows = min(_STRIP, height - top)
        strip = _exposed(scene, top, rows, columns)
        np.sqrt(strip, out=strip)
        strip *= np.float32(255 / _BRIGHTEST**0.5)
        start = int(rng.integers(0, scene.noise.shape[0] - rows + 1))
        strip += scene.noise[start : start + rows]
        cv2.LUT(cv2.convertScaleAbs(np.maximum(strip, 0)), curve, out[top : top + rows])
    return _sharpened(out)


def _columns(scene: _Scene, width: int) -> tuple[int, int]:
    """The photograph's columns that the monitor touches."""
    high, wide = scene.face.shape[:2]
    corners = np.array([[0, 0], [wide, 0], [wide, high], [0, high]], dtype=float)
    xs = project(scene.face_to_photo, corners)[:, 0]
    low = int(np.clip(np.floor(xs.min()) - 1, 0, width - 1))
    return low, int(np.clip(np.ceil(xs.max()) + 1, low + 1, width))


def _exposed(scene: _Scene, top: int, rows: int, columns: tuple[int, int]) -> Light:
    """Light on the sensor for ``rows`` rows from ``top``, (rows, width, 3)."""
    width, height = scene.conditions.size
    low, high = columns
    strip = _enlarged(scene.surroundings, top, rows, width)
    moved = np.array([[1, 0, -low], [0, 1, -top], [0, 0, 1.0]]) @ scene.face_to_photo
    seen = cv2.warpPerspective(scene.face, moved, (high - low, rows), flags=cv2.INTER_LINEAR)
    front = np.asarray(seen, np.float32)
    modulate(front, scene.grid, low, top)
    part = strip[:, low:high]
    part *= 1 - front[:, :, 3:]
    part += front[:, :, :3] * scene.bands[top : top + rows, None, None]
    if scene.finger is not None:
        hidden = _enlarged(scene.finger, top, rows, width)
        strip *= 1 - hidden[:, :, 3:]
        strip += hidden[:, :, :3]
    ys = ((np.arange(top, top + rows, dtype=np.float32) - height / 2) * 2 / width) ** 2
    xs = ((np.arange(width, dtype=np.float32) - width / 2) * 2 / width) ** 2
    fall = 1 - scene.conditions.vignette * (ys[:, None] + xs[None, :]) / 1.6
    strip *= fall[:, :, None].astype(np.float32)
    strip *= scene.gain
    return strip


def _enlarged(small: Light, top: int, rows: int, width: int) -> Light:
    """Rows ``top`` onward of ``small`` enlarged to the photograph."""
    share = 1 / _SMALL
    back = np.array([[share, 0, share / 2 - 0.5], [0, share, (top + 0.5) * share - 0.5]])
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    strip = cv2.warpAffine(small, back, (width, rows), flags=flags, borderMode=cv2.BORDER_REPLICATE)
    return strip.astype(np.float32, copy=False)


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
    soft = cv2.GaussianBlur(pixels, (0, 0), 1.1)
    out: Pixels = cv2.addWeighted(pixels, 1.4, soft, -0.4, 0).astype(np.uint8, copy=False)
    return out
