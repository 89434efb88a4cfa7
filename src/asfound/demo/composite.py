"""Softness of an analogue video output, applied to a drawn page."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.demo.themes import Composite


def soften(pixels: NDArray[np.uint8], composite: Composite) -> NDArray[np.uint8]:
    """``pixels`` (H, W, 3 RGB) as they leave a composite output: horizontally soft luma,
    softer and late colour, a little ringing, field comb and leftover carrier."""
    ycc = cv2.cvtColor(pixels, cv2.COLOR_RGB2YCrCb).astype(np.float32)
    luma = _across(ycc[:, :, 0], composite.luma)
    if composite.ringing:
        luma = luma + composite.ringing * (luma - _across(luma, composite.luma * 2.5))
    chroma = [_across(ycc[:, :, index], composite.chroma) for index in (1, 2)]
    chroma = [_moved(plane, composite.chroma_lag) for plane in chroma]
    if composite.crawl:
        luma = luma + composite.crawl * _carrier(*chroma)
    if composite.comb:
        luma[1::2] = _moved(luma, composite.comb)[1::2]
    out = np.clip(np.stack([luma, *chroma], axis=2), 0, 255).astype(np.uint8)
    rgb: NDArray[np.uint8] = cv2.cvtColor(out, cv2.COLOR_YCrCb2RGB).astype(np.uint8)
    return rgb


def _across(plane: NDArray[np.float32], sigma: float) -> NDArray[np.float32]:
    if sigma <= 0:
        return plane
    return cv2.GaussianBlur(plane, (0, 1), sigmaX=sigma, sigmaY=1e-6).astype(np.float32)


def _moved(plane: NDArray[np.float32], by: float) -> NDArray[np.float32]:
    """The plane shifted to the right by a fraction of pixels."""
    height, width = plane.shape
    shift = np.array([[1, 0, by], [0, 1, 0]], dtype=np.float64)
    moved = cv2.warpAffine(plane, shift, (width, height), borderMode=cv2.BORDER_REPLICATE)
    return moved.astype(np.float32)


def _carrier(red: NDArray[np.float32], blue: NDArray[np.float32]) -> NDArray[np.float32]:
    """Chequered remains of the colour carrier, strong where the colour is (0..1)."""
    rows, columns = np.arange(red.shape[0])[:, None], np.arange(red.shape[1])[None, :]
    chequer = np.where((rows // 2 + columns // 2) % 2, 1, -1).astype(np.float32)
    strength = (np.abs(red - 128) + np.abs(blue - 128)) / 128
    return (chequer * strength).astype(np.float32)
