"""Cutting and turning held against scikit-image (ProjectiveTransform, warp, rotate), and rows
against the projective map that made them (Hartley and Zisserman, Multiple View Geometry, 2nd
ed. 2004, section 2.3: a plane seen by a pinhole camera)."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from skimage.transform import ProjectiveTransform, rotate, warp

from asfound.calc.textlines import Line, as_box, cut, row_slopes, row_strip, sizes
from asfound.calc.turns import turn_back, turn_picture, turn_quads


def scene(height: int = 260, width: int = 420) -> NDArray[np.uint8]:
    """Text and soft ramps, no noise: interpolation shows, aliasing does not."""
    ramp = np.linspace(40, 120, width)[None, :, None] + np.linspace(0, 60, height)[:, None, None]
    picture = np.repeat(ramp, 3, axis=2).astype(np.uint8)
    for row in range(5):
        place = (20, 45 + 48 * row)
        cv2.putText(picture, f"Row {row} 12:3{row}", place, 0, 1.2, (230, 240, 90), 3, cv2.LINE_AA)
    return np.asarray(cv2.GaussianBlur(picture, (0, 0), 1.0), np.uint8)


SCENE = scene()


@given(
    left=st.integers(30, 120), top=st.integers(30, 150), width=st.integers(60, 240),
    height=st.integers(12, 70), bends=st.lists(st.integers(-9, 9), min_size=8, max_size=8),
    pad=st.sampled_from([(0.0, 0.0), (0.3, 0.2), (-0.1, -0.1)]),
)  # fmt: skip
def test_a_quad_is_cut_as_scikit_image_warps_it(
    left: int, top: int, width: int, height: int, bends: list[int], pad: tuple[float, float]
) -> None:
    """Mean difference of at most 1.5 grey levels: OpenCV interpolates in 1/32 pixels."""
    flat = np.array([[0, 0], [width, 0], [width, height], [0, height]], dtype=float)
    quad = flat + (left, top) + np.array(bends, dtype=float).reshape(4, 2) / 3
    got = cut(SCENE, as_box(quad), pad)
    widths, heights = sizes(quad[None])
    along = (quad[1] - quad[0] + quad[2] - quad[3]) / (2 * widths[0])
    down = (quad[3] - quad[0] + quad[2] - quad[1]) / (2 * heights[0])
    x, y = along * pad[0] * heights[0], down * pad[1] * heights[0]
    grown = quad + np.array([-x - y, x - y, x + y, -x + y])
    size = (
        max(2, round(float(widths[0] + 2 * pad[0] * heights[0]))),
        max(2, round(float(heights[0] * (1 + 2 * pad[1])))),
    )
    corners = np.array([[0, 0], [size[0], 0], size, [0, size[1]]], dtype=float)
    back = ProjectiveTransform.from_estimate(corners, grown)
    wanted = warp(SCENE, back, output_shape=size[::-1], order=1, mode="edge", preserve_range=True)
    if size[1] > 96:
        small = (round(size[0] * 96 / size[1]), 96)
        wanted = cv2.resize(wanted, small, interpolation=cv2.INTER_AREA)
    assert got.shape == wanted.shape
    assert np.abs(got - wanted).mean() <= 1.5


@pytest.mark.parametrize("turns", [0, 1, 2, 3])
def test_quarter_turns_are_scikit_images(turns: int) -> None:
    wanted = rotate(SCENE, 90 * turns, resize=True, order=0, preserve_range=True)
    assert np.array_equal(turn_picture(SCENE, turns), np.round(wanted).astype(np.uint8))


@given(
    st.integers(0, 3), st.integers(2, 40), st.integers(2, 40),
    st.tuples(st.integers(0, 10_000), st.integers(0, 10_000)),
)  # fmt: skip
def test_outlines_turn_with_their_picture(
    turns: int, height: int, width: int, place: tuple[int, int]
) -> None:
    x, y = place[0] % width, place[1] % height
    picture = np.zeros((height, width))
    picture[y, x] = 1.0
    turned = rotate(picture, 90 * turns, resize=True, order=0)
    seen_y, seen_x = np.unravel_index(int(turned.argmax()), turned.shape)
    point = np.full((1, 4, 2), (x, y), dtype=float)
    moved = turn_quads(point, turns, picture.shape)
    assert np.allclose(moved, (seen_x, seen_y))
    assert np.allclose(turn_back(moved, turns, turned.shape), point)


def menu_seen(tilt: float, side: float, roll: float) -> ProjectiveTransform:
    """Millimetres on a flat screen to pixels, off axis by ``tilt`` degrees toward ``side``."""
    t, s, r = np.radians([tilt, side, roll])
    toward = np.array([np.sin(t) * np.cos(s), np.sin(t) * np.sin(s), -np.cos(t)])
    right = np.cross([0, 1.0, 0], -toward)
    right /= np.linalg.norm(right)
    down = np.cross(-toward, right)
    spin = np.array([[np.cos(r), -np.sin(r), 0], [np.sin(r), np.cos(r), 0], [0, 0, 1]])
    turn = spin @ np.stack([right, down, -toward])
    shift = -turn @ (toward * 300.0)
    inner = np.array([[1500.0, 0, 800], [0, 1500.0, 600], [0, 0, 1]])
    return ProjectiveTransform(inner @ np.column_stack([turn[:, 0], turn[:, 1], shift]))


@given(st.floats(0, 20), st.floats(0, 360), st.floats(-6, 6))
def test_rows_are_followed_over_the_slanted_screen(tilt: float, side: float, roll: float) -> None:
    """From a label at the left a row is found again at its right end, 110 mm away: within a
    third of the line's height up to 20 degrees (the everyday severity)."""
    seen = menu_seen(tilt, side, roll)
    rows = np.arange(-45.0, 50.0, 10.0)
    quads = np.stack(
        [
            seen(np.array([[x, y - 2], [x + 30, y - 2], [x + 30, y + 2], [x, y + 2]]))
            for y in rows
            for x in (-70.0, 40.0)
        ]
    )
    fit = row_slopes(quads)
    for number in range(len(rows)):
        label, value = quads[2 * number], quads[2 * number + 1]
        height = float(sizes(label[None])[1][0])
        line = Line("Label", (), (), as_box(label), height=height)
        middle = value.mean(axis=0)
        strip = np.array(row_strip(line, fit, middle[0] - 5, middle[0] + 5))
        assert abs(strip.mean(axis=0)[1] - middle[1]) <= height / 3
