"""Blur, noise, exposure, seams: known blur and noise put into pictures, and reference libraries."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
import skimage.data
from skimage.data import camera
from skimage.measure import blur_effect

from asfound.calc.blur import edge_blur, fine_blur, wide_blur
from asfound.calc.exposure import exposure, lamps
from asfound.calc.noise import noise_sigma
from asfound.calc.shrink import scaled
from asfound.calc.tearing import seams
from asfound.sources import BLUR_SIGMA, NOISE_SIGMA

Luma = np.ndarray


def bars(sigma: float) -> Luma:
    """Straight edges, 40 px apart, under a Gaussian."""
    sharp = np.where((np.arange(320) // 40) % 2, 180.0, 60.0)[None, :].repeat(240, axis=0)
    return np.asarray(np.round(cv2.GaussianBlur(sharp, (0, 0), sigma)), np.uint8)


def wires(sigma: float) -> Luma:
    """Thin lines, 40 px apart, under a Gaussian, as light as before."""
    line = 60 + 120 * np.exp(-0.5 * ((np.arange(320) % 40 - 19.5) / sigma) ** 2)
    return np.asarray(np.round(line[None, :].repeat(240, axis=0)), np.uint8)


@pytest.mark.parametrize("sigma", [1.0, 1.5, 2.5])
def test_the_blur_of_a_straight_edge_is_the_one_put_in(sigma: float) -> None:
    # Truth: an ideal edge under a Gaussian of known standard deviation (Zhuo and Sim's model).
    # The Sobel mask itself is three pixels wide, which adds a little to narrow edges.
    assert fine_blur(bars(sigma)).sigma == pytest.approx(sigma, abs=0.25)


@pytest.mark.parametrize("sigma", [2.0, 3.0, 4.0])
def test_the_second_look_tells_the_blur_of_edges_and_takes_no_line_for_sharp(
    sigma: float,
) -> None:
    # Truth: the Gaussians put in; a line's profile is the Gaussian itself.
    assert wide_blur(bars(sigma)).sigma == pytest.approx(sigma, abs=0.3)
    assert sigma <= wide_blur(wires(sigma)).sigma < 1.5 * sigma
    # Taken for an edge, a line is sharper than it is: why there are two looks.
    assert fine_blur(wires(sigma)).sigma < 0.8 * sigma


def test_blur_rises_as_the_reference_library_says_it_does() -> None:
    # Crete et al. 2007, as scikit-image's blur_effect has it: 0 sharp, 1 blurred.
    whole = np.asarray(camera(), np.uint8)
    pictures = [whole]
    for sigma in (2, 3, 4, 6):
        pictures.append(np.asarray(cv2.GaussianBlur(whole, (0, 0), sigma), np.uint8))
    ours = [edge_blur(picture).sigma for picture in pictures]
    theirs = [float(blur_effect(picture)) for picture in pictures]
    assert ours == sorted(ours)
    assert theirs == sorted(theirs)
    assert ours[0] == 0 < BLUR_SIGMA.value < ours[3]


@pytest.mark.parametrize("name", ["camera", "stereo_motorcycle", "coffee", "rocket", "cat"])
def test_a_photograph_with_anything_sharp_in_it_is_not_out_of_focus(name: str) -> None:
    """Photographs that scikit-image ships; "cat" is a close view whose ground is out of focus."""
    picture = getattr(skimage.data, name)()
    picture = np.asarray(picture[0] if isinstance(picture, tuple) else picture, np.uint8)
    grey = picture if picture.ndim == 2 else cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY)
    assert edge_blur(scaled(np.ascontiguousarray(grey), 400)).sigma < BLUR_SIGMA.value


@pytest.mark.parametrize("size", [(180, 320), (12, 16), (3, 5)])
def test_an_even_picture_cannot_be_judged_for_focus(size: tuple[int, int]) -> None:
    for look in (edge_blur, fine_blur, wide_blur):
        found = look(np.full(size, 90, np.uint8))
        assert np.isnan(found.sigma)
        assert found.edges == 0


@pytest.mark.parametrize("sigma", [4.0, 8.0, 12.0])
def test_noise_is_what_was_put_in(sigma: float) -> None:
    # Truth: white Gaussian noise of known standard deviation on an even picture.
    random = np.random.default_rng(3)
    noisy = np.clip(110 + random.normal(0, sigma, (360, 640)), 0, 255).round().astype(np.uint8)
    assert noise_sigma(noisy) == pytest.approx(sigma, rel=0.05)


@pytest.mark.parametrize("name", ["camera", "stereo_motorcycle", "coffee", "rocket"])
def test_a_sharp_photograph_is_not_called_noisy(name: str) -> None:
    """Photographs that scikit-image ships: leaves, spokes and wood are no noise."""
    picture = getattr(skimage.data, name)()
    picture = np.asarray(picture[0] if isinstance(picture, tuple) else picture, np.uint8)
    grey = picture if picture.ndim == 2 else cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY)
    assert noise_sigma(np.ascontiguousarray(grey)) < 0.5 * NOISE_SIGMA.value


def test_white_and_black_are_those_of_bt_709() -> None:
    # ITU-R BT.709-6: luma 16 is black and 235 white in 8 bit.
    half = np.full((90, 160), 235, np.uint8)
    half[:, :80] = 16
    found = exposure(half, limited=True)
    assert found.white == pytest.approx(0.5)
    assert found.lights == pytest.approx(1.0)
    assert exposure(half, limited=False).white == 0.0
    assert exposure(np.full((90, 160), 16, np.uint8), limited=True).lights == 0.0


def test_single_lamps_in_the_dark_are_seen_at_full_size() -> None:
    night = np.full((720, 1280), 17, np.uint8)
    night[700:, 20:600] = 235  # a burned-in line
    assert lamps(night, limited=True) == pytest.approx(1 / 219)
    for left in range(300, 700, 50):
        night[300:303, left : left + 10] = 235
    assert lamps(night, limited=True) == 1.0
    assert exposure(scaled(night, 160), limited=True).lights < 0.3


def test_a_torn_photograph_has_a_seam_where_it_is_torn_and_a_whole_one_has_none() -> None:
    torn = camera().copy()
    torn[230:] = np.roll(torn[230:], 40, axis=1)
    assert any(abs(seam.at - 230 / 512) < 0.02 for seam in seams(torn).seams)
    assert not seams(camera()).seams
