"""Blur, noise, exposure, seams: known blur and noise put into pictures, and reference libraries."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
import skimage.data
from skimage.data import camera
from skimage.measure import blur_effect

from asfound.calc.blur import edge_blur
from asfound.calc.exposure import exposure
from asfound.calc.noise import noise_sigma
from asfound.calc.tearing import seams
from asfound.sources import BLUR_SIGMA, NOISE_SIGMA

Luma = np.ndarray


def photograph() -> Luma:
    """The photograph "camera" that scikit-image ships, 512 x 512, at the measuring width."""
    return np.asarray(cv2.resize(camera(), (320, 320), interpolation=cv2.INTER_AREA), np.uint8)


@pytest.mark.parametrize("sigma", [1.0, 1.5, 2.5])
def test_the_blur_of_a_straight_edge_is_the_one_put_in(sigma: float) -> None:
    # Truth: an ideal edge under a Gaussian of known standard deviation (Zhuo and Sim's model).
    bars = np.where((np.arange(320) // 40) % 2, 180.0, 60.0)[None, :].repeat(240, axis=0)
    soft = cv2.GaussianBlur(bars.astype(np.float32), (0, 0), sigma)
    found = edge_blur(np.round(soft).astype(np.uint8))
    # The Sobel mask itself is three pixels wide, which adds a little to narrow edges.
    assert found.sigma == pytest.approx(sigma, abs=0.25)


def test_blur_rises_as_the_reference_library_says_it_does() -> None:
    # Crete et al. 2007, as scikit-image's blur_effect has it: 0 sharp, 1 blurred.
    pictures = [photograph()] + [cv2.GaussianBlur(photograph(), (0, 0), s) for s in (1, 2, 3)]
    ours = [edge_blur(picture).sigma for picture in pictures]
    theirs = [float(blur_effect(picture)) for picture in pictures]
    assert ours == sorted(ours)
    assert theirs == sorted(theirs)
    assert ours[0] < BLUR_SIGMA.value < ours[2]


def test_an_even_picture_cannot_be_judged_for_focus() -> None:
    found = edge_blur(np.full((180, 320), 90, np.uint8))
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


def test_a_torn_photograph_has_a_seam_where_it_is_torn_and_a_whole_one_has_none() -> None:
    torn = camera().copy()
    torn[230:] = np.roll(torn[230:], 40, axis=1)
    assert any(abs(seam.at - 230 / 512) < 0.02 for seam in seams(torn).seams)
    assert not seams(camera()).seams
