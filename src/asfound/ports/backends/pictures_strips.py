"""Large pictures to small RGB arrays a strip at a time, so that no full array is ever made."""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from asfound.ports.pictures import Pixels

STRIP_PIXELS = 1 << 21
"""Pixels of the original that are turned into RGB at once, in whole rows."""

BACKGROUND = 128
"""Grey under transparent parts: neither light nor dark text vanishes on it."""

MODES = frozenset(
    {"1", "L", "LA", "P", "PA", "RGB", "RGBA", "RGBa", "RGBX", "CMYK", "YCbCr"}
    | {"I;16", "I;16L", "I;16B", "I;16N"}
)
"""Pillow's modes that have a plain meaning as RGB."""

Rows = Callable[[int, int], Pixels]
"""The original's rows from ``top`` to before ``bottom`` as RGB, full width."""


def small_size(size: tuple[int, int], longest: int | None) -> tuple[int, int]:
    """(width, height) shrunk to at most ``longest`` in its longer side, never enlarged."""
    if longest is None or max(size) <= longest:
        return size
    scale = longest / max(size)
    return max(1, round(size[0] * scale)), max(1, round(size[1] * scale))


def shrunk(rows: Rows, size: tuple[int, int], longest: int | None) -> Pixels:
    """The picture of ``size`` (width, height) averaged by area to at most ``longest``.

    Averaging by area is separable: first across, strip by strip, then down.
    """
    width, height = size
    wide, high = small_size(size, longest)
    across = np.empty((height, wide, 3), np.uint8)
    step = max(1, STRIP_PIXELS // width)
    for top in range(0, height, step):
        strip = rows(top, min(top + step, height))
        if wide != width:
            strip = _resized(strip, (wide, strip.shape[0]))
        across[top : top + strip.shape[0]] = strip
    return across if high == height else _resized(across, (wide, high))


def _resized(pixels: Pixels, size: tuple[int, int]) -> Pixels:
    return np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), np.uint8)


def pillow_rows(image: Image.Image) -> Rows:
    """Strips of a loaded Pillow image whose mode is one of MODES."""

    def rows(top: int, bottom: int) -> Pixels:
        return _rgb(image.crop((0, top, image.width, bottom)))

    return rows


def array_rows(pixels: NDArray[np.uint8]) -> Rows:
    """Strips of a decoded array (height x width x 3 RGB or 4 RGBA, or height x width grey)."""

    def rows(top: int, bottom: int) -> Pixels:
        strip = pixels[top:bottom]
        if strip.ndim == 2:
            return np.repeat(strip[:, :, None], 3, axis=2)
        return _over_grey(strip) if strip.shape[2] == 4 else strip

    return rows


def webp_rows(data: bytes, size: tuple[int, int]) -> Rows:
    """Strips of a WebP still without transparency, decoded by OpenCV: Pillow's decoder, made for
    animations, takes five times the memory. Raises ValueError."""
    flags = cv2.IMREAD_COLOR | cv2.IMREAD_IGNORE_ORIENTATION
    pixels = cv2.imdecode(np.frombuffer(data, np.uint8), flags)
    if pixels is None or pixels.shape[:2] != size[::-1]:
        raise ValueError("the picture's data do not fit its header")
    bgr = np.asarray(pixels, np.uint8)
    return lambda top, bottom: np.ascontiguousarray(bgr[top:bottom, :, ::-1])


def _rgb(strip: Image.Image) -> Pixels:
    if strip.mode.startswith("I;16"):
        # The upper byte: 0..65535 scaled to 0..255. Pillow's own conversion clips instead.
        grey = (np.asarray(strip).astype(np.uint16) >> 8).astype(np.uint8)
        return np.repeat(grey[:, :, None], 3, axis=2)
    if strip.has_transparency_data:
        return _over_grey(np.asarray(strip.convert("RGBA"), np.uint8))
    return np.asarray(strip.convert("RGB"), np.uint8)


def _over_grey(rgba: NDArray[np.uint8]) -> Pixels:
    """Laid over BACKGROUND by its alpha (W3C Compositing and Blending, source over)."""
    alpha = rgba[:, :, 3:].astype(np.uint16)
    if (alpha == 255).all():
        return rgba[:, :, :3]
    over = rgba[:, :, :3] * alpha + BACKGROUND * (255 - alpha) + 127
    return (over // 255).astype(np.uint8)
