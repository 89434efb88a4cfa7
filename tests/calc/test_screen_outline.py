"""Screens drawn into dark pictures through a known homography (cv2.getPerspectiveTransform and
cv2.warpPerspective place them; the four given corners are the truth)."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from asfound.calc.screen_outline import screen_outline, straightened

WIDE, HIGH = 640, 400
MARK = (500, 300)
"""Middle of a red square on the screen, pixels."""


def screen() -> NDArray[np.uint8]:
    """A bright ground with rows of dark writing, a red square at MARK."""
    picture = np.full((HIGH, WIDE, 3), 200, np.uint8)
    for row in range(8):
        at = (30, 50 + 42 * row)
        cv2.putText(
            picture, f"Field {row} of page", at, cv2.FONT_HERSHEY_SIMPLEX, 0.9, (20,) * 3, 2
        )
    x, y = MARK
    picture[y - 15 : y + 16, x - 15 : x + 16] = (230, 10, 10)
    return picture


def photograph(
    corners: list[tuple[float, float]], size: tuple[int, int] = (1200, 900), seed: int = 1
) -> NDArray[np.uint8]:
    """``corners``: where the screen's top left, top right, bottom right and bottom left lie."""
    source = np.array([(0, 0), (WIDE, 0), (WIDE, HIGH), (0, HIGH)], np.float32)
    way = cv2.getPerspectiveTransform(source, np.array(corners, np.float32))
    placed = cv2.warpPerspective(screen(), way, size, flags=cv2.INTER_AREA)
    noise = np.clip(np.random.default_rng(seed).normal(18, 4, placed.shape), 0, 255)
    inside = cv2.warpPerspective(np.ones((HIGH, WIDE), np.uint8), way, size)
    return np.where(inside[..., None] > 0, placed, noise).astype(np.uint8)


STRAIGHT = [(200.0, 150.0), (1000.0, 150.0), (1000.0, 650.0), (200.0, 650.0)]
ASLANT = [(250.0, 180.0), (980.0, 120.0), (1040.0, 700.0), (200.0, 640.0)]
TURNED = [(330.0, 110.0), (1080.0, 330.0), (930.0, 800.0), (180.0, 560.0)]
STANDING = [(850.0, 80.0), (830.0, 840.0), (350.0, 830.0), (370.0, 100.0)]
"""The phone was held upright: the screen's top edge runs down the picture's right side."""


@pytest.mark.parametrize("corners", [STRAIGHT, ASLANT, TURNED, STANDING])
def test_corners_are_found(corners: list[tuple[float, float]]) -> None:
    found = screen_outline(photograph(corners))
    assert found is not None and found.shape == (4, 2)
    truth = np.array(corners)
    truth = np.roll(truth, -int(truth.sum(axis=1).argmin()), axis=0)
    diagonal = np.linalg.norm(truth[2] - truth[0])
    assert np.linalg.norm(found - truth, axis=1).max() < 0.02 * diagonal


def test_corners_are_in_pixels_of_a_large_picture() -> None:
    small = screen_outline(photograph(ASLANT))
    big = screen_outline(cv2.resize(photograph(ASLANT), (3600, 2700)).astype(np.uint8))
    assert small is not None and big is not None
    assert big / 3 == pytest.approx(small, abs=12)


@pytest.mark.parametrize(
    "picture",
    [
        np.random.default_rng(3).normal(20, 5, (600, 800, 3)).clip(0, 255).astype(np.uint8),
        np.full((600, 800, 3), 127, np.uint8),
        cv2.circle(np.full((600, 800, 3), 15, np.uint8), (400, 300), 180, (230,) * 3, -1),
    ],
    ids=["dark", "plain", "round lamp"],
)
def test_no_screen(picture: NDArray[np.uint8]) -> None:
    assert screen_outline(picture) is None


def middle_of_red(picture: NDArray[np.uint8]) -> NDArray[np.float64]:
    red, other = picture[..., 0].astype(int), picture[..., 1].astype(int)
    rows, columns = np.nonzero((red > 150) & (other < 80))
    return np.array([columns.mean(), rows.mean()])


@pytest.mark.parametrize("corners", [STRAIGHT, ASLANT, TURNED])
def test_straightened_shows_the_screen_straight_on(corners: list[tuple[float, float]]) -> None:
    picture = photograph(corners)
    room = 0.03
    straight, back = straightened(picture, np.array(corners), room)
    high, wide = straight.shape[:2]
    # The whole is 1 + 2 * room as wide and as high as the screen.
    share = (np.array(MARK) / (WIDE, HIGH) + room) / (1 + 2 * room)
    assert middle_of_red(straight) == pytest.approx(share * (wide, high), abs=0.01 * wide)
    # The matrix leads from its pixels to the photograph's.
    left, right = room / (1 + 2 * room) * wide, (1 + room) / (1 + 2 * room) * wide
    top, bottom = room / (1 + 2 * room) * high, (1 + room) / (1 + 2 * room) * high
    own = np.array([(left, top), (right, top), (right, bottom), (left, bottom)])
    there = cv2.perspectiveTransform(own[None], back)[0]
    assert there == pytest.approx(np.array(corners), abs=2.0)


def test_a_standing_screen_comes_out_lying() -> None:
    found = screen_outline(photograph(STANDING))
    assert found is not None
    straight, back = straightened(photograph(STANDING), found)
    high, wide = straight.shape[:2]
    assert wide > high
    # Which way up it lies cannot be told from its outline; the matrix still holds.
    mark = middle_of_red(straight)
    there = cv2.perspectiveTransform(mark[None, None], back)[0, 0]
    assert there == pytest.approx(middle_of_red(photograph(STANDING)), abs=4.0)


def test_a_large_screen_is_shrunk_and_the_matrix_still_leads_back() -> None:
    corners = np.array(ASLANT) * 3
    big = cv2.resize(photograph(ASLANT), (3600, 2700), interpolation=cv2.INTER_CUBIC)
    straight, back = straightened(big.astype(np.uint8), corners, longest=600)
    assert max(straight.shape) <= 600 * 1.07
    there = cv2.perspectiveTransform(middle_of_red(straight)[None, None], back)[0, 0]
    assert there == pytest.approx(middle_of_red(big.astype(np.uint8)), abs=12.0)


def in_cab(corners: list[tuple[float, float]], wall: int, ground: int) -> NDArray[np.uint8]:
    """A dim screen in a dark rim before a light wall that takes the upper third."""
    picture = photograph(corners).astype(np.float64) * (ground / 200)
    middle = np.mean(corners, axis=0)
    rim = np.round(middle + 1.12 * (np.array(corners) - middle)).astype(np.int32)
    behind = np.full(picture.shape, 38.0)
    behind[:300] = np.linspace(wall, 60, 300)[:, None, None]
    cv2.fillConvexPoly(behind, rim, (22.0,) * 3)
    screen_only = np.zeros(picture.shape[:2], np.uint8)
    cv2.fillConvexPoly(screen_only, np.round(np.array(corners)).astype(np.int32), 1)
    return np.where(screen_only[..., None] > 0, picture, behind).clip(0, 255).astype(np.uint8)


@pytest.mark.parametrize("wall", [110, 150, 190])
@pytest.mark.parametrize("corners", [STRAIGHT, ASLANT])
def test_a_dim_screen_before_a_light_wall(corners: list[tuple[float, float]], wall: int) -> None:
    found = screen_outline(in_cab(corners, wall, 105))
    truth = np.array(corners)
    assert found is not None
    diagonal = np.linalg.norm(truth[2] - truth[0])
    assert np.linalg.norm(found - truth, axis=1).max() < 0.03 * diagonal


def test_a_strip_of_wall_is_no_screen() -> None:
    picture = np.full((900, 1200, 3), 30, np.uint8)
    picture[100:320, 60:1140] = 170
    assert screen_outline(picture) is None


def test_a_dark_screen_is_told_from_its_grey_frame_by_colour() -> None:
    """Hardly lighter than the frame, with striped rows and a bright one, which are lighter."""
    picture = np.random.default_rng(4).normal(30, 2, (900, 1200, 3)).clip(0, 255)
    outer = np.array([(120, 120), (1060, 90), (1090, 780), (90, 800)], np.int32)
    inner = [(180.0, 170.0), (1000.0, 150.0), (1020.0, 730.0), (160.0, 740.0)]
    cv2.fillConvexPoly(picture, outer, (33.0, 33.0, 33.0))
    ground = np.full((HIGH, WIDE, 3), (24, 38, 32), np.uint8)
    for row in range(2, 8):
        if row % 2:
            ground[20 + 42 * row : 62 + 42 * row] = (34, 56, 46)
        at = (30, 50 + 42 * row)
        cv2.putText(ground, f"Field {row}", at, cv2.FONT_HERSHEY_SIMPLEX, 0.9, (240,) * 3, 2)
    ground[146:188] = (200, 250, 140)
    source = np.array([(0, 0), (WIDE, 0), (WIDE, HIGH), (0, HIGH)], np.float32)
    way = cv2.getPerspectiveTransform(source, np.array(inner, np.float32))
    placed = cv2.warpPerspective(ground, way, (1200, 900), flags=cv2.INTER_AREA)
    inside = cv2.warpPerspective(np.ones((HIGH, WIDE), np.uint8), way, (1200, 900))
    found = screen_outline(np.where(inside[..., None] > 0, placed, picture).astype(np.uint8))
    truth = np.array(inner)
    assert found is not None
    diagonal = np.linalg.norm(truth[2] - truth[0])
    assert np.linalg.norm(found - truth, axis=1).max() < 0.03 * diagonal
