"""A small picture drawn with characters, as well as the terminal can.

A terminal cell is about twice as high as wide, so the upper and lower half of it are two square
pixels: one is the colour of the sign ▀, the other that of its ground. Without colours each cell
is four pixels, ink or ground. Colours: SGR 38;2 and 48;2 (ITU-T T.416, ISO/IEC 8613-6).
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum

import cv2
import numpy as np
from numpy.typing import NDArray

Pixels = NDArray[np.uint8]

HEIGHT, LEAST = 28, 18
"""Pixels that a value's picture is drawn high, and the least before it is drawn in parts:
letters of eight pixels can be read."""

MOST_PARTS = 4
NARROWEST = 24
"""Columns below which nothing can be recognised."""

_QUARTERS = " ▘▝▀▖▌▞▛▗▚▐▜▄▙▟█"
"""Signs by which quarters are ink: 1 upper left, 2 upper right, 4 lower left, 8 lower right."""

_SHADES = " .:-=+*#%@"


class Way(StrEnum):
    """How a picture can be shown."""

    COLOUR = "colour"
    QUARTERS = "quarters"
    SHADES = "shades"
    FILE = "file"


def way_of(environ: Mapping[str, str], is_terminal: bool, encoding: str) -> Way:
    """What stdout can show. NO_COLOR (no-color.org) and COLORTERM are conventions that many
    terminals keep."""
    term = environ.get("TERM", "")
    if not is_terminal or term in ("", "dumb"):
        return Way.FILE
    try:
        ("▀" + _QUARTERS).encode(encoding)
    except (UnicodeEncodeError, LookupError):
        return Way.SHADES
    deep = environ.get("COLORTERM", "").casefold() in ("truecolor", "24bit") or "direct" in term
    return Way.COLOUR if deep and not environ.get("NO_COLOR") else Way.QUARTERS


def drawn(pixels: Pixels, columns: int, way: Way) -> list[str]:
    """``pixels`` (height x width x 3, RGB) in lines of at most ``columns`` cells.

    What is too long for one line is drawn in parts below each other, a little of each repeated
    in the next. Nothing for Way.FILE and for terminals too narrow.
    """
    if way is Way.FILE or columns < NARROWEST or 0 in pixels.shape:
        return []
    lines: list[str] = []
    for part in _parts(pixels, columns):
        if lines:
            lines.append("")
        lines += _DRAW[way](part, columns)
    return lines


def _parts(pixels: Pixels, columns: int) -> list[Pixels]:
    height, width = pixels.shape[:2]
    whole = width * LEAST / height
    count = int(np.clip(np.ceil(whole / columns), 1, MOST_PARTS))
    if count == 1:
        return [pixels]
    shared = min(height, width // (2 * count))
    step = (width - shared) / count
    cuts = [(round(number * step), round(number * step + step + shared)) for number in range(count)]
    return [np.ascontiguousarray(pixels[:, left:right]) for left, right in cuts]


def _scaled(pixels: Pixels, columns: int, across: int) -> Pixels:
    """At the size to draw it: ``across`` pixels a cell, twice ``across`` high for quarters."""
    height, width = pixels.shape[:2]
    scale = min(HEIGHT / height, columns / width)
    rows = max(2, 2 * round(height * scale / 2))
    cells = int(np.clip(round(width * scale), 1, columns))
    shrinks = rows < height
    how = cv2.INTER_AREA if shrinks else cv2.INTER_CUBIC
    return np.asarray(cv2.resize(pixels, (cells * across, rows), interpolation=how), np.uint8)


def _colour(pixels: Pixels, columns: int) -> list[str]:
    made = _scaled(_stretched(pixels), columns, 1)
    lines = []
    for upper, lower in zip(made[::2], made[1::2], strict=True):
        line, before = [], ""
        for (r, g, b), (x, y, z) in zip(upper.tolist(), lower.tolist(), strict=True):
            code = f"\x1b[38;2;{r};{g};{b};48;2;{x};{y};{z}m"
            line.append("▀" if code == before else code + "▀")
            before = code
        lines.append("".join(line) + "\x1b[0m")
    return lines


def _quarters(pixels: Pixels, columns: int) -> list[str]:
    luma = cv2.cvtColor(_scaled(pixels, columns, 2), cv2.COLOR_RGB2GRAY).astype(np.float32)
    # Without what changes slowly: light that falls on one end only hides no letter.
    rest = luma - cv2.GaussianBlur(luma, (0, 0), HEIGHT / 2, borderType=cv2.BORDER_REPLICATE)
    wide = max(float(np.ptp(rest)), 1.0)
    even = np.asarray((rest - rest.min()) * (255 / wide), np.uint8)
    _, flags = cv2.threshold(even, 0, 1, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
    ink = np.asarray(flags, dtype=np.intp)
    if ink.mean() > 0.5:
        # Ink is what there is less of, whichever of the two is bright.
        ink = 1 - ink
    index = ink[::2, ::2] + 2 * ink[::2, 1::2] + 4 * ink[1::2, ::2] + 8 * ink[1::2, 1::2]
    return ["".join(_QUARTERS[one] for one in row).rstrip() for row in index.tolist()]


def _shades(pixels: Pixels, columns: int) -> list[str]:
    luma = cv2.cvtColor(_scaled(_stretched(pixels), columns, 1), cv2.COLOR_RGB2GRAY)
    cells = luma.reshape(luma.shape[0] // 2, 2, -1).mean(axis=1)
    if np.median(cells) > 127:
        cells = 255 - cells
    index = np.clip(cells * len(_SHADES) / 256, 0, len(_SHADES) - 1).astype(int)
    return ["".join(_SHADES[one] for one in row).rstrip() for row in index.tolist()]


def _stretched(pixels: Pixels) -> Pixels:
    """With its darkest and brightest hundredth at black and white: dim cabs stay legible."""
    low, high = np.percentile(pixels, (1, 99))
    if high - low < 8:
        return pixels
    wide = (pixels.astype(np.float32) - low) * (255 / (high - low))
    return np.asarray(np.clip(wide, 0, 255), np.uint8)


_DRAW = {Way.COLOUR: _colour, Way.QUARTERS: _quarters, Way.SHADES: _shades}
