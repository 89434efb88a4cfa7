"""A clock's digits held against each other: one recorder draws a digit the same way everywhere.

The last digits of a running clock are known for certain, because they advance with the file. They
are samples of how this clock draws each digit, and a digit that stands still (hour, date) must
look like its own samples rather than like those of another. Likeness is the normalised correlation
of grey pictures, best over small shifts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

HEIGHT = 32
"""Height that lines are brought to, in pixels."""

SHIFT = 5
"""How far a digit is moved to fit another, in pixels of a line of HEIGHT."""

TRIM = 0.08
"""Share of a digit's width that is left out on each side: its neighbours reach in there."""

SIZES = (0.9, 0.95, 1.0, 1.05, 1.1)
"""Lines are found a little higher or lower than they are, and brought to one height."""

LIKE = 0.55
"""Least likeness of a digit to its own samples."""

CLEARER = 0.05
"""By how much it must be liker to its own samples than to the other digit's."""

Grey = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Drawn:
    """A digit as it stands in a picture: ``pixels`` HEIGHT x width, with room for shifts."""

    digit: str
    pixels: Grey


def grey_line(pixels: NDArray[np.uint8]) -> Grey:
    """A crop (height x width x 3) in grey at HEIGHT."""
    grey = cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY)
    width = max(8, round(grey.shape[1] * HEIGHT / max(1, grey.shape[0])))
    how = cv2.INTER_AREA if grey.shape[0] > HEIGHT else cv2.INTER_CUBIC
    return np.asarray(cv2.resize(grey, (width, HEIGHT), interpolation=how), np.float32)


def drawn(line: Grey, digit: str, place: float, pitch: float) -> Drawn:
    """The digit around ``place`` (0..1 along the line), ``pitch`` (0..1) wide; beyond the rim
    the line's edge is repeated."""
    width = line.shape[1]
    half = max(4, round(pitch * width / 2))
    middle = round(place * width)
    reach = half + SHIFT
    wide = np.pad(line, ((0, 0), (reach, reach)), mode="edge")
    return Drawn(digit, wide[:, middle : middle + 2 * reach])


def likeness(one: Drawn, other: Drawn) -> float:
    """Normalised correlation, -1..1, best over shifts and small changes of size."""
    wide = min(one.pixels.shape[1], other.pixels.shape[1])
    a, b = _middle(one.pixels, wide), _middle(other.pixels, wide)
    edge = SHIFT + round(TRIM * (wide - 2 * SHIFT))
    inner = a[3:-3, edge:-edge]
    best = -1.0
    for size in SIZES:
        part = cv2.resize(inner, None, fx=size, fy=size, interpolation=cv2.INTER_LINEAR)
        if part.shape[0] <= b.shape[0] and part.shape[1] <= b.shape[1]:
            best = max(best, float(cv2.matchTemplate(b, part, cv2.TM_CCOEFF_NORMED).max()))
    return best


def looks_like(unknown: Sequence[Drawn], known: Sequence[Drawn], digit: str, rival: str) -> bool:
    """True when ``unknown`` (one place in several pictures) looks like the samples of ``digit``
    and clearly less like those of ``rival``; False when it does not or when samples lack."""
    own = [_best(one, known, digit) for one in unknown]
    other = [_best(one, known, rival) for one in unknown]
    if not own or min(*own, *other) < 0:
        return False
    mine, its = float(np.median(own)), float(np.median(other))
    return mine >= LIKE and mine - its >= CLEARER


def _best(one: Drawn, known: Sequence[Drawn], digit: str) -> float:
    """Likeness to the digit's samples, the upper fifth: some were cut out beside their digit.
    -1 without samples."""
    found = [likeness(one, sample) for sample in known if sample.digit == digit]
    return float(np.percentile(found, 80)) if found else -1.0


def _middle(pixels: Grey, wide: int) -> Grey:
    spare = (pixels.shape[1] - wide) // 2
    return np.ascontiguousarray(pixels[:, spare : spare + wide])
