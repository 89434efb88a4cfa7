"""Areas of secrets: what must be covered, and what must be left alone. Coverage is tried with
OpenCV's own point-in-polygon test and by counting painted pixels."""

from __future__ import annotations

from math import cos, radians, sin

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.secret_areas import GREY, painted, secret_spots
from asfound.model.reading import Box, FieldReading, Point, State

SIZE = (1600, 1200)


def turned(x: float, y: float, angle: float, scale: float = 1.0) -> Point:
    """A point of the page in the photograph, turned about its middle."""
    a, dx, dy = radians(angle), (x - 500) * scale, (y - 400) * scale
    return 800 + dx * cos(a) - dy * sin(a), 600 + dx * sin(a) + dy * cos(a)


def box(left: float, top: float, right: float, angle: float = 0.0, height: float = 30.0) -> Box:
    corners = ((left, top), (right, top), (right, top + height), (left, top + height))
    a, b, c, d = (turned(x, y, angle) for x, y in corners)
    return (a, b, c, d)


def read(name: str, outline: Box | None) -> FieldReading:
    return FieldReading(name, name, "", "set", State.SURE, box=outline)


def inside(outline: Box | None, point: Point) -> bool:
    assert outline is not None
    return cv2.pointPolygonTest(np.array(outline, np.float32), point, False) >= 0


def page(angle: float, secret: Box | None, row: int = 2, rows: int = 5) -> list[FieldReading]:
    """Rows 60 px apart, values from x = 500 to 620, the last one longer."""
    fields = [
        read(f"f{n}", box(500, 100 + 60 * n, 800 if n == rows - 1 else 620, angle))
        for n in range(rows)
    ]
    fields[row] = read("secret", secret)
    return fields


@given(st.floats(-180, 180), st.floats(30, 300))
def test_more_than_was_recognised_is_covered_and_no_other_value(angle: float, width: float) -> None:
    fields = page(angle, box(500, 220, 500 + width, angle))
    (spot,) = secret_spots(fields, {"secret"}, SIZE)
    assert spot.field == "secret"
    # What the recogniser overlooked at the right (as far as the page's longest value), and half a
    # character at the left; letters that stick out above and below.
    for x in (500 - 15, 500, 500 + width, 815):
        for y in (220 - 5, 235, 250 + 5):
            assert inside(spot.outline, turned(x, y, angle))
    for n, other in enumerate(fields):
        if other.id != "secret" and other.box is not None:
            for corner in other.box:
                assert not inside(spot.outline, corner), n


@given(st.floats(-180, 180), st.integers(0, 4))
def test_without_a_box_the_whole_strip_between_neighbours_is_taken(angle: float, row: int) -> None:
    fields = page(angle, None, row)
    (spot,) = secret_spots(fields, {"secret"}, SIZE)
    for x in (100, 500, 900):
        assert inside(spot.outline, turned(x, 100 + 60 * row + 15, angle))
    for other in fields:
        if other.box is not None:
            middle = np.mean(other.box, axis=0)
            assert not inside(spot.outline, (float(middle[0]), float(middle[1])))


def test_a_lone_secret_without_a_box_could_be_anywhere() -> None:
    (spot,) = secret_spots([read("secret", None)], {"secret"}, SIZE)
    assert spot.outline is None
    # Two columns: the neighbours in menu order stand side by side and say nothing.
    fields = [read("a", box(100, 700, 200)), read("secret", None), read("b", box(600, 100, 700))]
    assert secret_spots(fields, {"secret"}, SIZE)[0].outline is None


def test_another_value_in_the_same_row_is_left_alone() -> None:
    fields = [
        read("a", box(100, 100, 220)), read("secret", box(400, 100, 520)),
        read("b", box(700, 100, 820)), read("c", box(100, 160, 990)),
    ]  # fmt: skip
    (spot,) = secret_spots(fields, {"secret"}, SIZE)
    assert inside(spot.outline, turned(680, 115, 0)) and inside(spot.outline, turned(350, 115, 0))
    assert not inside(spot.outline, turned(701, 115, 0))
    assert not inside(spot.outline, turned(219, 115, 0))


def test_a_short_box_takes_its_direction_from_the_page() -> None:
    fields = page(10.0, None)
    askew = box(500, 220, 540, 25.0)  # two characters: their own direction says little
    corners = np.array(askew) - np.mean(askew, axis=0) + turned(520, 235, 10.0)
    a, b, c, d = ((float(x), float(y)) for x, y in corners)
    fields[2] = read("secret", (a, b, c, d))
    (spot,) = secret_spots(fields, {"secret"}, SIZE)
    assert inside(spot.outline, turned(810, 235, 10.0))


def test_no_secrets_no_areas() -> None:
    assert secret_spots(page(0.0, None), set(), SIZE) == ()


@pytest.mark.parametrize("angle", [0.0, 7.3, 90.0, 181.5])
def test_painting_leaves_no_pixel_and_touches_no_other(angle: float) -> None:
    rng = np.random.default_rng(5)
    pixels = rng.integers(0, 256, (SIZE[1], SIZE[0], 3), dtype=np.uint8)
    before = pixels.copy()
    outline = box(300.3, 200.7, 700.2, angle)
    made = painted(pixels, [outline])
    assert (pixels == before).all()
    changed = (made != pixels).any(axis=2)
    area = cv2.contourArea(np.array(outline, np.float32))
    edge = 2 * (400 + 30)
    assert area - 0.01 * edge < changed.sum() < area + 1.5 * edge
    ys, xs = np.nonzero(changed)
    assert (made[ys, xs] == GREY).all()
    for x, y in ((300.3, 200.7), (500, 215), (700.2, 230.7)):
        px, py = turned(x, y, angle)
        assert changed[round(py), round(px)] or (made[round(py), round(px)] == GREY).all()
