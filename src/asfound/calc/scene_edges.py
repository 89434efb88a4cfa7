"""Where a group's pictures change from one scene to another, told by their sizes in the file.

A picture of one colour takes next to nothing, whatever is spent on scenes; the first picture of
another scene takes far more than those of a scene that stands still. Limits are own choices on
own coding trials (docs/proof.md).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

FEWEST = 3
"""Pictures on either side of a change that sizes tell."""
SPIKE, SPIKE_REACH = 8.0, 3
"""The picture of a change takes so many times the bytes of all but the few next to it."""
RETURNS = 0.08
"""A scene cannot return in pictures of less than this share of its key picture's bytes ..."""
OFTEN_S = 0.5
"""... and one that goes on has at least one picture of more in so many seconds."""
STEPS_OFF = 2.5
"""A period's end may lie so many pictures off."""


def change_by_sizes(
    seconds: NDArray[np.float64], sizes: NDArray[np.int64], scene_bytes: int, ends_even: bool
) -> float | None:
    """When a group's picture turns into one even colour (``ends_even``), or from one into a
    scene [s]: the first picture of what follows; None: sizes do not tell.

    ``seconds`` and ``sizes`` (n): its pictures in order of decoding, the key picture first;
    ``scene_bytes``: the scene's nearest key picture.
    """
    order = np.argsort(seconds[1:], kind="stable")
    shown, sized = seconds[1:][order], sizes[1:][order]
    if len(sized) < 2 * FEWEST:
        return None
    large = np.flatnonzero(sized >= RETURNS * scene_bytes)
    if len(large) < FEWEST:
        return _spike(shown, sized)
    if not ends_even:
        return float(shown[large[0]]) if large[0] >= FEWEST else None
    steady = bool((np.diff(shown[large[-FEWEST:]]) <= OFTEN_S).all())
    last = int(large[-1])
    return float(shown[last + 1]) if steady and last + FEWEST < len(sized) else None


def _spike(shown: NDArray[np.float64], sized: NDArray[np.int64]) -> float | None:
    """One picture far larger than the others: a scene that stands still hides the level."""
    at = int(np.argmax(sized))
    away = np.abs(np.arange(len(sized)) - at) > SPIKE_REACH
    if not FEWEST <= at <= len(sized) - FEWEST or sized[at] < SPIKE * sized[away].max():
        return None
    return float(shown[at])


def stays(sizes: NDArray[np.int64], scene_bytes: int) -> bool:
    """Is there too little in a group's pictures for a scene to have come back and gone again?

    ``sizes`` (n): bytes in order of decoding, the key picture first, which shows one colour;
    ``scene_bytes``: the latest key picture of a scene.
    """
    return len(sizes) > 1 and float(sizes[1:].max()) < RETURNS * scene_bytes


def starts_anew(
    seconds: NDArray[np.float64], sizes: NDArray[np.int64], end_s: float, period_s: float
) -> bool:
    """Does the largest picture between two key pictures lie one period before the group's end?

    A coder that codes a new scene's first picture by itself, without marking it as a key
    picture, counts its period from there. ``seconds`` and ``sizes`` (n) in order of decoding.
    """
    if len(sizes) < 2:
        return False
    step = (end_s - float(seconds[0])) / len(sizes)
    largest = float(seconds[1 + int(np.argmax(sizes[1:]))])
    return abs(end_s - largest - period_s) <= STEPS_OFF * step
