"""Smaller pictures to measure on, and what is largest in each of their blocks. Made for speed."""

from __future__ import annotations

from typing import TypeVar

import cv2
import numpy as np
from numpy.typing import NDArray

Value = TypeVar("Value", np.uint8, np.float32)


def scaled(luma: NDArray[np.uint8], width: int) -> NDArray[np.uint8]:
    """The picture (height x width) averaged by area to ``width`` pixels at most.

    It is halved as often as that goes: OpenCV does so many times faster than any other ratio.
    """
    if luma.shape[1] <= width:
        return luma
    height = max(1, round(luma.shape[0] * width / luma.shape[1]))
    while luma.shape[1] >= 2 * width and luma.shape[0] >= 2:
        luma = _resized(luma, luma.shape[1] // 2, luma.shape[0] // 2)
    return luma if luma.shape == (height, width) else _resized(luma, width, height)


def averaged(plane: NDArray[np.uint8], width: int, height: int) -> NDArray[np.uint8]:
    """The plane (height x width) averaged by area to that size, halved first while whole halves
    lead there."""
    while plane.shape[1] % (2 * width) == 0 and plane.shape[0] % (2 * height) == 0:
        plane = _resized(plane, plane.shape[1] // 2, plane.shape[0] // 2)
    return plane if plane.shape == (height, width) else _resized(plane, width, height)


def block_max(values: NDArray[Value], tall: int, wide: int) -> NDArray[Value]:
    """The largest value of each block of ``tall`` x ``wide`` pixels; sides are whole blocks."""
    rows, columns = values.shape[0] // tall, values.shape[1] // wide
    strips = values.reshape(rows, tall, columns * wide).max(axis=1)
    # Turned, so that both searches run along memory: ten times faster than the last axis.
    turned = np.ascontiguousarray(strips.T).reshape(columns, wide, rows)
    return np.asarray(turned.max(axis=1).T, values.dtype)


def _resized(luma: NDArray[np.uint8], width: int, height: int) -> NDArray[np.uint8]:
    return np.asarray(cv2.resize(luma, (width, height), interpolation=cv2.INTER_AREA), np.uint8)
