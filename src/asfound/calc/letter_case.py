"""What the picture says beyond the recogniser: capital or small letter, and missed spaces.

A recogniser scales every line to one height and easily mixes up "S" and "s". The picture knows:
a capital is as high as its neighbours with ascenders, a small letter as high as an "n".
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

_SAME_SHAPE = frozenset("cosuvwxzCOSUVWXZ")
_SMALL = frozenset("aemnr")
_TALL = frozenset("ABDEFGHIKLMNPRTYbdfhkl0123456789")
_HEIGHT = 64

_STEP = 1.12
"""From middle to middle of two signs with a space between them, in the longest of other signs: 2
where all are equally wide, less where wide letters stand beside."""


def checked_case(crop: NDArray[np.uint8], text: str, places: Sequence[float]) -> str:
    """``text`` with the case of such letters as their heights show it.

    ``crop``: the line, upright, RGB; ``places``: of each character, 0..1 along the crop. A letter
    without neighbours to measure against, or between the two heights, stays as it is.
    """
    if not any(letter in _SAME_SHAPE for letter in text):
        return text
    heights = _heights(crop, places)
    small = [h for h, letter in zip(heights, text, strict=True) if letter in _SMALL and h]
    tall = [h for h, letter in zip(heights, text, strict=True) if letter in _TALL and h]
    low, high = (float(np.median(group)) if group else 0.0 for group in (small, tall))
    if low and high and not 1.15 < high / low < 1.8:
        return text
    seen = ""
    for letter, height in zip(text, heights, strict=True):
        capital = _is_capital(height, low, high) if letter in _SAME_SHAPE and height else None
        # Within a word of small letters no capital is looked for.
        if capital is True and not seen[-1:].islower():
            letter = letter.upper()
        elif capital is False:
            letter = letter.lower()
        seen += letter
    return seen


def in_capitals(text: str) -> str:
    """A serial number whose letters are capitals, with those in capitals too that are drawn alike
    in both cases; as it is where any other letter is small."""
    letters = [letter for letter in text if letter.isalpha()]
    others = [letter for letter in letters if letter not in _SAME_SHAPE]
    if len(others) < 2 or not all(letter.isupper() for letter in others):
        return text
    return text.upper()


def _is_capital(height: float, low: float, high: float) -> bool | None:
    """None when the height is between the two, or there is nothing to measure against."""
    if low and high:
        share = (height - low) / (high - low)
        return True if share > 0.7 else False if share < 0.3 else None
    if low:
        return True if height > 1.15 * low else False if height < 1.08 * low else None
    if high:
        return False if height < 0.83 * high else True if height > 0.92 * high else None
    return None


def missed_spaces(crop: NDArray[np.uint8], text: str, places: Sequence[float]) -> tuple[int, ...]:
    """Positions in ``text`` before which the crop shows the room of a space.

    Looked for where a word and a number, or two words, seem run together ("CAM8").
    """
    gaps: dict[int, int] = {}
    steps: dict[int, float] = {}
    for index, (left, right) in enumerate(pairwise(_glyphs(crop, places)), start=1):
        if left and right:
            gaps[index] = right[0] - left[1]
            if text[index - 1].isalnum() and text[index].isalnum():
                steps[index] = (right[0] + right[1] - left[0] - left[1]) / 2
    found = []
    for index, step in steps.items():
        before, after = text[index - 1], text[index]
        joint = before.isalpha() != after.isalpha() or (before.islower() and after.isupper())
        others = [gaps[i] for i in steps if i != index]
        if not joint or len(others) < 2:
            continue
        room = gaps[index] > max(3.2 * float(np.median(others)), 0.17 * _HEIGHT)
        # A narrow sign of a monospaced font stands alone in its cell, yet no further on.
        further = step > _STEP * max(steps[i] for i in steps if i != index)
        if room and further:
            found.append(index)
    return tuple(found)


def _heights(crop: NDArray[np.uint8], places: Sequence[float]) -> list[float]:
    """Height of each character above the base line, in pixels; 0 where it cannot be told."""
    boxes = _glyphs(crop, places)
    bases = [box[3] for box in boxes if box]
    base = float(np.median(bases)) if bases else 0.0
    return [float(box[3] - box[2]) if box and abs(box[3] - base) <= 3 else 0.0 for box in boxes]


def _glyphs(
    crop: NDArray[np.uint8], places: Sequence[float]
) -> list[tuple[int, int, int, int] | None]:
    """(left, right, top, bottom) of each character's ink, in pixels of a crop 64 high; None
    where there is no ink of its own at its place, or it touches its neighbour."""
    width = max(2, round(crop.shape[1] * _HEIGHT / max(crop.shape[0], 1)))
    luma = cv2.cvtColor(cv2.resize(crop, (width, _HEIGHT)), cv2.COLOR_RGB2GRAY)
    differs = np.abs(luma.astype(np.float32) - float(np.median(luma)))
    ink = (differs > 0.45 * float(np.percentile(differs, 99))).astype(np.uint8)
    pieces = cv2.connectedComponentsWithStats(ink, connectivity=8)[2][1:]
    middles = np.array(places) * width
    boxes: list[tuple[int, int, int, int] | None] = []
    for middle in middles:
        here = [
            (int(high), int(left), int(left + wide), int(top), int(top + high))
            for left, top, wide, high, _ in pieces
            if left - 3 <= middle <= left + wide + 3 and high > _HEIGHT // 5
        ]
        box = max(here)[1:] if here else None
        alone = box and np.count_nonzero((middles >= box[0]) & (middles <= box[1])) == 1
        boxes.append(box if alone else None)
    return boxes
