"""A signature as a picture: is there ink at all, and where; cut out with a little paper around."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Pixels = NDArray[np.uint8]

CONTRAST = 48
"""How much darker than the paper ink is [grey levels of 255]; our own choice: pencil still is."""

LEAST_INK = 40
"""Pixels of ink below which a picture counts as blank: a slip of the finger, dust."""

MARGIN = 0.04
"""Paper left around the ink, as a share of the longer side of what is cut out."""


def ink_cut_out(pixels: Pixels) -> Pixels | None:
    """The part of an RGB picture (height x width x 3) that is signed; None when it is blank.

    The paper is what most of the picture is like: its median grey (ITU-R BT.601 luma).
    """
    luma = pixels.astype(np.float32) @ np.array([0.299, 0.587, 0.114], np.float32)
    ink = luma < float(np.median(luma)) - CONTRAST
    if int(ink.sum()) < LEAST_INK:
        return None
    rows, columns = np.flatnonzero(ink.any(axis=1)), np.flatnonzero(ink.any(axis=0))
    top, bottom, left, right = rows[0], rows[-1] + 1, columns[0], columns[-1] + 1
    edge = round(MARGIN * max(bottom - top, right - left)) + 2
    return pixels[max(0, top - edge) : bottom + edge, max(0, left - edge) : right + edge]
