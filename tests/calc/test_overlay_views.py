"""Views of a line: drawn here by Pillow as recorders do, white or black with an edge."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from asfound.calc.overlay_views import View, seen
from asfound.demo.fonts import font

Mask = NDArray[np.bool_]


def drawn(ink: int, edge: int, behind: int) -> tuple[NDArray[np.uint8], Mask, Mask]:
    """A line with its edge 2 pixels to the right and below; where ink is, and where edge is."""
    canvas = Image.new("L", (220, 34), behind)
    pen, face = ImageDraw.Draw(canvas), font("DejaVuSansMono-Bold.ttf", 24)
    pen.text((12, 4), "20:56:38", font=face, fill=edge)
    pen.text((10, 2), "20:56:38", font=face, fill=ink)
    grey = np.asarray(canvas, np.uint8)
    return np.dstack([grey] * 3), grey == ink, grey == edge


@pytest.mark.parametrize(("ink", "edge"), [(232, 18), (20, 225)])
@pytest.mark.parametrize("behind", [60, 120, 200])
def test_the_view_of_the_ink_shows_ink_alone(ink: int, edge: int, behind: int) -> None:
    pixels, inked, edged = drawn(ink, edge, behind)
    right = View.LIGHT if ink > behind else View.DARK
    shown = seen(pixels, right)[:, :, 0].astype(int)
    shown = shown if right is View.LIGHT else 255 - shown
    assert shown[inked].mean() > 230
    # Of the edge nothing is left, though it stands out more than the ink on a bright sky.
    assert shown[edged].mean() < 10
    other = seen(pixels, View.DARK if right is View.LIGHT else View.LIGHT)[:, :, 0].astype(int)
    other = 255 - other if right is View.LIGHT else other
    assert other[inked].mean() < 10 and other[edged].mean() > 230


def test_as_it_is_nothing_is_changed() -> None:
    pixels, _, _ = drawn(232, 18, 120)
    assert seen(pixels, View.PLAIN) is pixels


@pytest.mark.parametrize("size", [(1, 1), (3, 200), (700, 20)])
def test_what_is_no_line_stays_without_ink(size: tuple[int, int]) -> None:
    """An even area with sensor noise of 1 code value: nothing in it is stretched to writing."""
    noise = np.random.default_rng(1).normal(120, 1, size)
    pixels = np.dstack([np.clip(noise, 0, 255).astype(np.uint8)] * 3)
    for view in (View.LIGHT, View.DARK):
        shown = seen(pixels, view)[:, :, 0].astype(int)
        assert shown.shape == size
        assert (shown if view is View.LIGHT else 255 - shown).mean() < 40
