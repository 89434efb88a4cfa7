"""Rows on a slanted screen. The truth is a homography of OpenCV's own, put on a level page."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from asfound.calc.textlines import (
    Line,
    as_box,
    cut,
    in_rows,
    lies_sideways,
    row_slopes,
    row_strip,
    sizes,
    straight_box,
    stretch,
)
from asfound.calc.turns import turn_back, turn_picture, turn_quads

Points = NDArray[np.float64]


def page() -> Points:
    """Twelve rows of a label and a value, level: n x 4 x 2, in millimetres."""
    quads = []
    for row in range(12):
        for left, right in ((10, 52 + row), (100, 112 + 2 * row)):
            top = 8 + 7.0 * row
            quads.append([[left, top], [right, top], [right, top + 4], [left, top + 4]])
    return np.array(quads, dtype=np.float64)


def seen(tilt: float, turn: float, roll: float) -> Points:
    """The page's homography to the photograph for a camera 260 mm away (angles in degrees)."""
    a, b, c = np.radians([tilt, turn, roll])
    about_x = np.array([[1, 0, 0], [0, np.cos(a), -np.sin(a)], [0, np.sin(a), np.cos(a)]])
    about_y = np.array([[np.cos(b), 0, np.sin(b)], [0, 1, 0], [-np.sin(b), 0, np.cos(b)]])
    about_z = np.array([[np.cos(c), -np.sin(c), 0], [np.sin(c), np.cos(c), 0], [0, 0, 1]])
    turned = about_z @ about_y @ about_x
    camera = np.array([[1800, 0, 1000], [0, 1800, 750], [0, 0, 1.0]])
    place = np.column_stack([turned[:, 0], turned[:, 1], [0, 0, 260.0]])
    centre = np.array([[1, 0, -70], [0, 1, -48], [0, 0, 1.0]])
    return np.asarray(camera @ place @ centre)


def projected(quads: Points, matrix: Points) -> Points:
    flat = quads.reshape(-1, 1, 2)
    found = np.asarray(cv2.perspectiveTransform(flat, matrix), dtype=np.float64)
    return found.reshape(-1, 4, 2)


@settings(deadline=None, max_examples=60)
@given(st.floats(-30, 30), st.floats(-30, 30), st.floats(-12, 12))
def test_rows_are_found_under_any_perspective(tilt: float, turn: float, roll: float) -> None:
    quads = projected(page(), seen(tilt, turn, roll))
    fit = row_slopes(quads)
    lines = [Line(str(i), (1.0,), (0.5,), as_box(quad)) for i, quad in enumerate(quads)]
    shuffled = [lines[i] for i in np.random.default_rng(0).permutation(len(lines))]
    placed = in_rows(shuffled, fit)
    assert [int(line.text) for line in placed] == list(range(24))
    assert [line.row for line in placed] == [i // 2 for i in range(24)]


@settings(deadline=None, max_examples=40)
@given(st.floats(-20, 20), st.floats(-20, 20), st.floats(-8, 8))
def test_a_strip_behind_a_label_meets_its_value(tilt: float, turn: float, roll: float) -> None:
    quads = projected(page(), seen(tilt, turn, roll))
    fit = row_slopes(quads)
    lines = [Line("x", (1.0,), (0.5,), as_box(quad)) for quad in quads]
    placed = in_rows(lines, fit)
    for label, value in zip(placed[::2], placed[1::2], strict=True):
        strip = np.array(row_strip(label, fit, value.left, value.right))
        off = strip.mean(axis=0)[1] - np.array(value.quad).mean(axis=0)[1]
        assert abs(off) < 0.25 * value.height


@pytest.mark.parametrize("turns", [0, 1, 2, 3])
def test_quarter_turns_of_outlines_follow_numpy(turns: int) -> None:
    # NumPy's rot90 is the outside truth: a marked pixel must lie where the outline says.
    picture = np.zeros((40, 60, 3), np.uint8)
    picture[5, 7] = 255
    turned = turn_picture(picture, turns)
    y, x = np.argwhere(turned[:, :, 0])[0]
    corner = np.array([[[7, 5], [7, 5], [7, 5], [7, 5]]], dtype=np.float64)
    assert turn_quads(corner, turns, picture.shape)[0, 0].tolist() == [x, y]
    back = turn_back(turn_quads(corner, turns, picture.shape), turns, turned.shape)
    assert back[0, 0].tolist() == [7, 5]


def test_sideways_writing_is_told() -> None:
    quads = projected(page(), seen(5, 5, 2))
    assert not lies_sideways(quads)
    # Turned outlines start at the picture's own top left, as the detector's do.
    assert lies_sideways(turn_quads(quads, 1, (1500, 2000)))
    square = np.array([[[0, 0], [5, 0], [5, 5], [0, 5]]], dtype=np.float64)
    assert not lies_sideways(square)


def test_cutting_straightens_and_pads() -> None:
    matrix = seen(10, -15, 5)
    board = np.full((960, 1400, 3), 40, np.uint8)
    board[300:360, 400:900] = 200
    scale = np.diag([10.0, 10.0, 1.0])
    warped = cv2.warpPerspective(board, matrix @ np.linalg.inv(scale), (2000, 1500))
    photo = np.asarray(warped, dtype=np.uint8)
    block = np.array([[[40, 30], [90, 30], [90, 36], [40, 36]]], dtype=np.float64)
    quad = projected(block, matrix)[0]
    inside = cut(photo, as_box(quad), (-0.1, -0.1))
    assert inside.shape[0] <= 96 and inside.min() > 190
    wide = cut(photo, as_box(quad), (0.5, 0.5))
    assert wide[2, 2, 0] < 60 and wide[wide.shape[0] // 2, wide.shape[1] // 2, 0] > 190
    assert sizes(quad[None])[0][0] > 5 * sizes(quad[None])[1][0]


def test_stretching_keeps_the_row() -> None:
    box = ((0.0, 0.0), (10.0, 1.0), (10.0, 5.0), (0.0, 4.0))
    assert stretch(box, -10, 20) == ((-10, -1), (20, 2), (20, 6), (-10, 3))


def test_nothing_in_nothing_out() -> None:
    assert in_rows([], np.zeros(5)) == []
    assert Line("", (), (), ((0, 0),) * 4).score == 0.0


@pytest.mark.parametrize("roll", [-8.0, 0.0, 8.0])
def test_the_outline_of_a_lone_sign_is_laid_along_its_row(roll: float) -> None:
    """A 7 of two strokes, with the smallest rectangle round it as OpenCV finds it (15 degrees)."""
    fit = row_slopes(projected(page(), seen(0, 0, roll)))
    picture = np.zeros((1500, 2000), np.uint8)
    cv2.polylines(picture, [np.array([[970, 705], [1030, 705], [995, 795]])], False, 255, 8)
    turn = cv2.getRotationMatrix2D((1000.0, 750.0), -roll, 1.0)
    turned = cv2.warpAffine(picture, turn, (2000, 1500))
    points = cv2.findNonZero(turned)
    found = np.asarray(cv2.boxPoints(cv2.minAreaRect(points)), dtype=np.float64)
    # From its top left, clockwise, as a detector gives it.
    start = int(np.argmin(found.sum(axis=1)))
    quad = np.roll(found, -start, axis=0)
    [line] = in_rows([Line("1", (0.9,), (0.5,), as_box(quad))], fit)
    box = straight_box(line, fit)
    assert box is not None
    top = np.array(box[1]) - np.array(box[0])
    assert np.degrees(np.arctan2(top[1], top[0])) == pytest.approx(roll, abs=1.0)
    outline = np.array(box, dtype=np.float32)
    signs = points.reshape(-1, 2).tolist()
    assert all(cv2.pointPolygonTest(outline, (float(x), float(y)), True) > -2 for x, y in signs)


def test_outlines_along_their_rows_and_long_ones_stay() -> None:
    fit = row_slopes(projected(page(), seen(0, 0, 0)))
    level = Line("8", (0.9,), (0.5,), ((900, 700), (940, 701), (940, 761), (900, 760)))
    leaning = np.array([[900, 700], [1100, 740], [1092, 800], [888, 760]], dtype=np.float64)
    word = Line("Depot", (0.9,) * 5, (0.1, 0.3, 0.5, 0.7, 0.9), as_box(leaning))
    for line in in_rows([level, word], fit):
        assert straight_box(line, fit) is None
