"""Sharpness beside blurs of known width (OpenCV's own) and a straight smear."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from asfound.calc.sharpness import pooled, sharpness, smeared
from asfound.model.reading import Box

BOX: Box = ((60.0, 60.0), (460.0, 60.0), (460.0, 120.0), (60.0, 120.0))


def written() -> NDArray[np.uint8]:
    picture = Image.new("RGB", (520, 180), (30, 30, 40))
    font = ImageFont.load_default(54)
    ImageDraw.Draw(picture).text((64, 58), "Kx 4%7 EB", fill=(230, 230, 230), font=font)
    return np.asarray(picture)


def smear(pixels: NDArray[np.uint8], length: int, degrees: float) -> NDArray[np.uint8]:
    kernel = np.zeros((length, length), np.float32)
    middle = (length - 1) / 2
    reach = middle * np.array([np.cos(np.radians(degrees)), np.sin(np.radians(degrees))])
    ends = [tuple(np.round(middle + side * reach).astype(int).tolist()) for side in (-1, 1)]
    cv2.line(kernel, ends[0], ends[1], 1.0)
    return np.asarray(cv2.filter2D(pixels, -1, kernel / kernel.sum()), np.uint8)


@pytest.mark.parametrize("sigma", [3.0, 5.0, 8.0])
def test_a_gaussian_blur_has_the_width_of_its_integral(sigma: float) -> None:
    # An edge blurred by a Gaussian rises at most contrast / (sigma sqrt(2 pi)) a pixel: the
    # slope of the error function at 0. Strokes are not wide enough to reach full contrast.
    soft = np.asarray(cv2.GaussianBlur(written(), (0, 0), sigma), np.uint8)
    seen = sharpness(soft, BOX)
    assert seen is not None
    assert seen.rise == pytest.approx(sigma * np.sqrt(2 * np.pi), rel=0.3)
    assert smeared(seen) < 1.5


def test_sharp_writing_has_narrow_edges() -> None:
    seen = sharpness(written(), BOX)
    assert seen is not None and seen.blur < 0.1 and smeared(seen) < 1.4
    assert seen.height == 60 and seen.contrast > 150


@pytest.mark.parametrize("degrees", [0.0, 45.0, 90.0, 135.0])
def test_a_smear_is_told_and_its_way(degrees: float) -> None:
    seen = sharpness(smear(written(), 17, degrees), BOX)
    assert seen is not None and smeared(seen) > 1.5
    widest = 15.0 * int(np.argmax(seen.ways))
    away = abs(widest - degrees) % 180
    assert min(away, 180 - away) <= 30


def test_where_nothing_is_written_nothing_is_measured() -> None:
    blank = np.full((180, 520, 3), 90, np.uint8)
    assert sharpness(blank, BOX) is None and pooled([]) is None
    tiny: Box = ((1.0, 1.0), (2.0, 1.0), (2.0, 2.0), (1.0, 2.0))
    assert sharpness(blank, tiny) is None
    one = sharpness(written(), BOX)
    assert one is not None and pooled([one, one, one]) == one
