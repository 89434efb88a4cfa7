"""Sharpness and likeness of frames. Blur is OpenCV's Gaussian, text is drawn by OpenCV; that
more blur means less variance of the Laplacian is from Pech-Pacheco et al., ICPR 2000."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from asfound.calc.clip_frames import LONG_SIDE, changed, luma_of, sharpness, signature

Luma = NDArray[np.uint8]


def page(words: tuple[str, ...], shift: tuple[int, int] = (0, 0)) -> Luma:
    """A bright menu on a dark cab."""
    luma = np.full((540, 960), 25, np.uint8)
    x, y = 140 + shift[0], 90 + shift[1]
    cv2.rectangle(luma, (x, y), (x + 640, y + 360), 60, -1)
    for row, word in enumerate(words):
        place = (x + 30, y + 50 + 48 * row)
        cv2.putText(luma, word, place, cv2.FONT_HERSHEY_SIMPLEX, 1.0, 230, 2, cv2.LINE_AA)
    return luma


def grainy(luma: Luma, seed: int, spread: float = 6.0) -> Luma:
    noise = np.random.default_rng(seed).normal(0, spread, luma.shape)
    return np.clip(luma + noise, 0, 255).astype(np.uint8)


ONE = ("Picture size HD 720", "Frame rate 12 fps", "Quality 6", "Sound on", "Mirror off")
OTHER = ("Keep for 30 days", "Overwrite oldest", "Split every 5 min", "Lock on event", "Level 3")


def test_luma_is_bt_601() -> None:
    """ITU-R BT.601: 0.299 R + 0.587 G + 0.114 B."""
    colours = np.array([[[255, 0, 0], [0, 255, 0], [0, 0, 255]]], np.uint8)
    assert luma_of(colours)[0].tolist() == [76, 150, 29]


@given(st.floats(0.6, 3.0), st.floats(1.3, 2.5), st.integers(0, 99))
def test_more_blur_is_less_sharp(sigma: float, more: float, seed: int) -> None:
    luma = page(ONE)
    less = grainy(np.asarray(cv2.GaussianBlur(luma, (0, 0), sigma), np.uint8), seed, 2.0)
    much = grainy(np.asarray(cv2.GaussianBlur(luma, (0, 0), sigma * more), np.uint8), seed, 2.0)
    assert sharpness(luma) > sharpness(less) > sharpness(much)


@pytest.mark.parametrize("size", [(1, 1), (7, 9), (200, 3)])
def test_tiny_frames_have_a_sharpness_and_a_signature(size: tuple[int, int]) -> None:
    luma = np.full(size, 9, np.uint8)
    assert sharpness(luma) == 0.0
    assert np.abs(signature(luma)).max() < 1e-3
    assert not changed(signature(luma), signature(luma))


@pytest.mark.parametrize("level", [0, 30])
def test_dark_frames_are_no_change(level: int) -> None:
    dark = np.full((540, 960), level, np.uint8)
    assert not changed(signature(grainy(dark, 1, 3.0)), signature(grainy(dark, 2, 3.0)))


def test_a_signature_is_small() -> None:
    assert signature(np.zeros((2160, 3840), np.uint8)).shape == (360, LONG_SIDE)
    assert signature(np.zeros((2160, 1080), np.uint8)).shape == (LONG_SIDE, 320)


@given(st.integers(-40, 40), st.integers(-30, 30), st.floats(0.1, 1.2), st.integers(0, 99))
def test_hand_movement_blur_and_grain_are_no_change(
    across: int, down: int, sigma: float, seed: int
) -> None:
    moved = np.asarray(cv2.GaussianBlur(page(ONE, (across, down)), (0, 0), sigma), np.uint8)
    assert not changed(signature(grainy(page(ONE), seed)), signature(grainy(moved, seed + 100)))


@given(st.integers(-20, 20), st.integers(-20, 20), st.integers(0, 99))
def test_another_page_is_a_change(across: int, down: int, seed: int) -> None:
    other = page(OTHER, (across, down))
    assert changed(signature(grainy(page(ONE), seed)), signature(grainy(other, seed + 100)))


def test_a_frame_of_another_shape_is_a_change() -> None:
    assert changed(signature(page(ONE)), signature(page(ONE)[:300]))
