"""Photographs: repeatable, true to geometry and optics, harder from severity to severity."""

from __future__ import annotations

import struct
import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from typing import get_args

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from asfound.demo.camera import Shot, photograph
from asfound.demo.conditions import Severity, draw_conditions
from asfound.demo.light import Pixels
from asfound.demo.moire import Grid, modulate
from asfound.demo.monitor import draw_monitor
from asfound.demo.pose import project, screen_corners, take_aim
from asfound.demo.random_values import random_values
from asfound.demo.screen import render_page
from asfound.demo.themes import TUNING_THEMES
from asfound.ports.backends.map_toml import load_map, shipped_map_paths

SEVERITIES: tuple[Severity, ...] = get_args(Severity)
TAKEN = datetime(2026, 3, 17, 21, 40, 5, tzinfo=timezone(timedelta(hours=1)))


@pytest.fixture(autouse=True)
def one_thread() -> Iterator[None]:
    before = cv2.getNumThreads()
    cv2.setNumThreads(1)
    yield
    cv2.setNumThreads(before)


@pytest.fixture(scope="module")
def menu() -> Pixels:
    menu_map = load_map(shipped_map_paths()["quillfen-octad"])
    values = random_values(menu_map, "4.0.2", np.random.default_rng(4))
    page = menu_map.page("recording")
    return render_page(menu_map, page, values, "4.0.2", TUNING_THEMES[0], 3, "12:34:56")


def test_the_same_arguments_give_the_same_file(menu: Pixels) -> None:
    first, again, other = (
        photograph(menu, seed, "everyday", TAKEN, (1632, 1224)) for seed in (7, 7, 8)
    )
    assert first.jpeg == again.jpeg
    assert first.jpeg != other.jpeg


@pytest.mark.parametrize("severity", SEVERITIES)
def test_the_screen_is_in_the_frame_and_off_axis_as_promised(severity: Severity) -> None:
    steepest = {"clean": 10.0, "everyday": 20.0, "hard": 35.0}[severity]
    megapixels = []
    for seed in range(60):
        rng = np.random.default_rng(seed)
        conditions = draw_conditions(rng, severity, (720, 800, 1024, 1280)[seed % 4])
        monitor = draw_monitor(rng, (800, 480))
        corners = project(take_aim(conditions, monitor.screen_mm, rng),
                          screen_corners(monitor.screen_mm))  # fmt: skip
        assert conditions.tilt <= steepest
        assert np.all(corners > 0)
        assert np.all(corners < conditions.size)
        megapixels.append(conditions.size[0] * conditions.size[1] / 1e6)
    assert min(megapixels) >= 1.5
    assert max(megapixels) > 12


def test_a_fifty_megapixel_phone_may_be_asked_for() -> None:
    rng = np.random.default_rng(1)
    assert draw_conditions(rng, "clean", 1280, (8160, 6120)).size == (8160, 6120)


@pytest.mark.parametrize("hold", range(4))
def test_straight_on_the_screen_keeps_its_shape(hold: int) -> None:
    """A pinhole camera facing a plane gives a similar figure (Hartley and Zisserman 2004)."""
    rng = np.random.default_rng(2)
    conditions = replace(draw_conditions(rng, "clean", 800), tilt=0.0, roll=0.0, hold=hold)
    wide, high = 154.0, 92.0
    corners = project(take_aim(conditions, (wide, high), rng), screen_corners((wide, high)))
    sides = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
    assert sides[0] / sides[1] == pytest.approx(wide / high, rel=1e-6)
    assert sides[0] == pytest.approx(sides[2], rel=1e-6)
    # Quarter turns clockwise: the screen's upper edge runs right, down, left, up.
    way = (corners[1] - corners[0]) / sides[0]
    assert way == pytest.approx([[1, 0], [0, 1], [-1, 0], [0, -1]][hold], abs=1e-6)


def test_a_nearer_edge_looks_longer() -> None:
    """Seen from the right, the screen's right edge is nearer, so longer in the picture."""
    rng = np.random.default_rng(3)
    right = replace(
        draw_conditions(rng, "hard", 800), tilt=30.0, side=0.0, roll=0.0, hold=0, fill=0.8
    )
    corners = project(take_aim(right, (154.0, 92.0), rng), screen_corners((154.0, 92.0)))
    assert np.linalg.norm(corners[2] - corners[1]) > 1.05 * np.linalg.norm(corners[3] - corners[0])


def chequers() -> tuple[Pixels, NDArray[np.float64]]:
    """A chequerboard signal of 800 x 480, and its inner corners (7 x 5) in signal pixels."""
    board = np.full((480, 800, 3), 230, np.uint8)
    for row in range(6):
        for column in range(8):
            if (row + column) % 2:
                board[60 + row * 60 : 120 + row * 60, 160 + column * 60 : 220 + column * 60] = 20
    points = [(220.0 + 60 * column, 120.0 + 60 * row) for row in range(5) for column in range(7)]
    return board, np.array(points)


@pytest.mark.parametrize(("severity", "seed"), [("clean", 1), ("clean", 2), ("everyday", 3)])
def test_the_truth_lies_where_another_program_finds_it(severity: Severity, seed: int) -> None:
    """OpenCV's chequerboard finder against the homography that the photograph reports."""
    board, inner = chequers()
    shot = photograph(board, seed, severity, None, (2048, 1536))
    grey = cv2.cvtColor(shot.pixels, cv2.COLOR_RGB2GRAY)
    found, points = cv2.findChessboardCornersSB(grey, (7, 5))
    assert found
    millimetres = (inner / [800, 480] - 0.5) * shot.screen_mm
    expected = project(shot.to_photo, millimetres)
    seen = np.asarray(points, float).reshape(-1, 2)
    # The finder may start at either end of the board.
    apart = min(
        float(np.max(np.linalg.norm(order - expected, axis=1))) for order in (seen, seen[::-1])
    )
    assert apart < 1.5


@pytest.mark.parametrize("seed", range(6))
def test_the_orientation_tag_turns_the_picture_upright(menu: Pixels, seed: int) -> None:
    """OpenCV turns by the EXIF tag when it decodes; then the menu's upper edge is on top."""
    shot = photograph(menu, seed, "everyday", TAKEN, (1632, 1224))
    stored = cv2.imdecode(np.frombuffer(shot.jpeg, np.uint8), cv2.IMREAD_COLOR_BGR
                          | cv2.IMREAD_IGNORE_ORIENTATION)  # fmt: skip
    turned = cv2.imdecode(np.frombuffer(shot.jpeg, np.uint8), cv2.IMREAD_COLOR_BGR)
    assert stored is not None
    assert turned is not None
    assert stored.shape == (1224, 1632, 3)
    assert shot.orientation in ({0: 1, 1: 8, 2: 3, 3: 6}[shot.turns], None)
    upright = stored if shot.orientation is None else np.rot90(stored, shot.turns)
    assert np.array_equal(turned, upright)


def test_turned_and_untagged_photographs_come_up() -> None:
    drawn = [draw_conditions(np.random.default_rng(seed), "hard", 800) for seed in range(60)]
    assert {item.hold for item in drawn} == {0, 1, 2, 3}
    assert any(item.hold and not item.tagged for item in drawn)
    assert any(item.hold and item.tagged for item in drawn)
    assert any(item.finger for item in drawn)


def exif_text(jpeg: bytes, wanted: int) -> str | None:
    """A text tag of a JPEG's EXIF block, read by hand (CIPA DC-008: APP1, TIFF header, IFDs)."""
    start = jpeg.find(b"Exif\0\0") + 6
    if start < 6:
        return None
    tiff = jpeg[start:]
    order = "<" if tiff[:2] == b"II" else ">"
    (first,) = struct.unpack(order + "I", tiff[4:8])
    ifds = [first]
    while ifds:
        at = ifds.pop()
        (count,) = struct.unpack(order + "H", tiff[at : at + 2])
        for index in range(count):
            entry = tiff[at + 2 + 12 * index : at + 14 + 12 * index]
            tag, _kind, length, value = struct.unpack(order + "HHII", entry)
            if tag == 0x8769:
                ifds.append(value)
            elif tag == wanted:
                return tiff[value : value + length].rstrip(b"\0").decode("ascii")
    return None


def test_the_file_carries_the_capture_time(menu: Pixels) -> None:
    shot = photograph(menu, 3, "clean", TAKEN, (1632, 1224))
    assert exif_text(shot.jpeg, 0x9003) == "2026:03:17 21:40:05"
    assert exif_text(shot.jpeg, 0x9011) == "+01:00"
    silent = photograph(menu, 3, "clean", None, (1632, 1224))
    assert exif_text(silent.jpeg, 0x9003) is None


def test_old_phones_leave_the_offset_out(menu: Pixels) -> None:
    seed = next(
        seed
        for seed in range(50)
        if not draw_conditions(np.random.default_rng(seed), "hard", menu.shape[1]).offset_tag
    )
    shot = photograph(menu, seed, "hard", datetime(2026, 3, 17, 21, 40, 5, tzinfo=UTC))
    assert exif_text(shot.jpeg, 0x9003) == "2026:03:17 21:40:05"
    assert exif_text(shot.jpeg, 0x9011) is None


def straightened(shot: Shot, size: tuple[int, int]) -> NDArray[np.float32]:
    """The screen as seen in the photograph, grey, laid back onto the signal's pixels."""
    width, height = size
    ends = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)
    back = cv2.getPerspectiveTransform(shot.corners.astype(np.float32), ends)
    grey = cv2.cvtColor(shot.pixels, cv2.COLOR_RGB2GRAY)
    return cv2.warpPerspective(grey, back, size, flags=cv2.INTER_AREA).astype(np.float32)


def similarity(one: NDArray[np.float32], other: NDArray[np.float32]) -> float:
    """Mean structural similarity (Wang, Bovik, Sheikh, Simoncelli 2004; sigma 1.5, 8 bit)."""

    def mean(picture: NDArray[np.float32]) -> NDArray[np.float64]:
        return np.asarray(cv2.GaussianBlur(picture.astype(np.float64), (11, 11), 1.5))

    c1, c2 = (0.01 * 255) ** 2, (0.03 * 255) ** 2
    a, b = mean(one), mean(other)
    aa, bb, ab = mean(one * one) - a * a, mean(other * other) - b * b, mean(one * other) - a * b
    share = (2 * a * b + c1) * (2 * ab + c2) / ((a * a + b * b + c1) * (aa + bb + c2))
    return float(share.mean())


def test_each_severity_is_worse_than_the_one_before(menu: Pixels) -> None:
    """Two outside measures, medians of five photographs each: structural similarity to what
    was on the screen, and the share of fine detail (variance of the Laplacian over variance,
    after Pech-Pacheco 2000) after a median filter has taken out the noise."""
    size = (menu.shape[1], menu.shape[0])
    grey = cv2.cvtColor(menu, cv2.COLOR_RGB2GRAY).astype(np.float32)
    alike, sharp = [], []
    for severity in SEVERITIES:
        shots = [photograph(menu, seed, severity, None, (1632, 1224)) for seed in range(5)]
        seen = [straightened(shot, size) for shot in shots]
        alike.append(np.median([similarity(picture, grey) for picture in seen]))
        calm = [cv2.medianBlur(picture.astype(np.uint8), 3).astype(np.float64) for picture in seen]
        sharp.append(np.median([cv2.Laplacian(one, cv2.CV_64F).var() / one.var() for one in calm]))
    assert alike[0] > alike[1] > alike[2]
    assert sharp[0] > sharp[1] > sharp[2]
    assert alike[0] > 0.6


@pytest.mark.parametrize("frequency", [0.6, 0.7, 0.85])
def test_a_fine_grid_folds_down_as_sampling_says(frequency: float) -> None:
    """A grid of f cycles a pixel, 0.5 < f < 1, shows at 1 - f (sampling theorem, Shannon 1949)."""
    width = 400
    to_panel = np.array([[frequency, 0, 0], [0, frequency, 0], [0, 0, 1.0]])
    planes = [np.ones((8, width), np.float32) for _ in range(3)]
    modulate(planes, Grid(to_panel, (10_000, 10_000), 0.2, 0.0), 0, 0)
    for plane in planes:
        spectrum = np.abs(np.fft.rfft(plane[4] - plane[4].mean()))
        assert np.argmax(spectrum) / width == pytest.approx(1 - frequency, abs=1.5 / width)
    # Red, green and blue stripes lie beside one another, so the three never peak together.
    assert not np.allclose(planes[0], planes[1])
    assert sum(plane.mean() for plane in planes) / 3 == pytest.approx(1, abs=0.01)


def test_a_photograph_of_eight_megapixels_takes_a_second(menu: Pixels) -> None:
    times = []
    for seed in range(3):
        start = time.process_time()
        photograph(menu, seed, "everyday", None, (3264, 2448))
        times.append(time.process_time() - start)
    assert sorted(times)[1] <= 1.0
