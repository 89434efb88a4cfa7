"""Bands along the edges and places in them: held against where something was put."""

from __future__ import annotations

import numpy as np
import pytest

from asfound.calc.overlay_place import BAND, LOOK_WIDTH, apart, bands, cut


@pytest.mark.parametrize(("width", "height"), [(640, 360), (1920, 1080), (704, 576)])
@pytest.mark.parametrize("low", [False, True])
def test_a_place_in_the_bands_is_the_place_in_the_picture(
    width: int, height: int, low: bool
) -> None:
    pixels = np.zeros((height, width, 3), np.uint8)
    top = height - 40 if low else 12
    pixels[top : top + 24, 100:220] = 255
    looked = bands(pixels)
    assert looked.pixels.shape[1] == LOOK_WIDTH
    rows, columns = np.nonzero(looked.pixels[..., 0] > 127)
    left, right = float(columns.min()), float(columns.max() + 1)
    high, deep = float(rows.min()), float(rows.max() + 1)
    found = looked.place(((left, high), (right, high), (right, deep), (left, deep)))
    assert found is not None
    assert np.abs(np.subtract(found, (100, top, 220, top + 24))).max() <= 1


def test_what_is_cut_out_has_a_margin_and_stays_inside() -> None:
    pixels = np.arange(100 * 200 * 3, dtype=np.uint32).reshape(100, 200, 3).astype(np.uint8)
    assert cut(pixels, (50, 40, 150, 60)).shape == (24, 124, 3)
    assert cut(pixels, (0, 0, 200, 100)).shape == (100, 200, 3)


def test_how_far_places_are_apart() -> None:
    assert apart((0, 0, 100, 20), (0, 25, 100, 45)) == pytest.approx(0.25)
    assert apart((0, 0, 100, 20), (140, 0, 200, 20)) == pytest.approx(2.0)
    assert 0 < BAND < 0.5
