"""Seams: a photograph torn by a known shift, in full light and in the dark, and whole ones."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from skimage.data import astronaut, camera, coffee, rocket

from asfound.calc.tearing import seams

Luma = np.ndarray


def photograph(light: float = 1.0, noise: float = 0.0) -> Luma:
    """The photograph "camera" (scikit-image) at 512 x 512, darkened, with sensor noise."""
    random = np.random.default_rng(2)
    dark = 16 + camera().astype(float) * light + random.normal(0, noise, (512, 512))
    return np.asarray(np.clip(np.round(dark), 0, 255), np.uint8)


@pytest.mark.parametrize(("light", "noise"), [(0.85, 0.0), (0.85, 3.0), (0.15, 1.0)])
@pytest.mark.parametrize("shift", [-50, -20, 20, 50])
def test_a_shift_is_the_one_put_in(light: float, noise: float, shift: int) -> None:
    torn = photograph(light, noise)
    torn[300:] = np.roll(torn[300:], shift, axis=1)
    found = [seam for seam in seams(torn).seams if seam.shift]
    assert len(found) == 1
    assert abs(found[0].at - 300 / 512) < 0.006  # two rows of 360
    assert abs(found[0].shift - 100 * shift / 512) < 0.5


def test_a_band_that_is_torn_aside_has_two_seams_with_opposite_shifts() -> None:
    torn = photograph()
    torn[200:320] = np.roll(torn[200:320], 30, axis=1)
    shifts = [seam.shift for seam in seams(torn).seams if seam.shift]
    assert len(shifts) == 2
    assert abs(sum(shifts)) < 0.7  # one pixel of 320 each


@pytest.mark.parametrize("picture", [camera(), astronaut(), coffee(), rocket()])
def test_whole_photographs_have_no_shifted_seam(picture: Luma) -> None:
    luma = picture if picture.ndim == 2 else cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY)
    found = seams(np.asarray(luma, np.uint8))
    assert found.told
    assert not [seam for seam in found.seams if seam.shift]


def test_the_upper_end_of_something_beside_the_edge_is_no_seam() -> None:
    # A mirror that hangs into the picture: shifted out of it, flat rows would fit flat rows.
    dark = np.full((360, 640), 22, np.uint8)
    dark[150:210, 600:] = 90
    found = seams(dark)
    assert not [seam for seam in found.seams if seam.shift]
    assert not found.told


def test_nothing_is_told_of_an_even_or_a_small_picture() -> None:
    assert not seams(np.full((360, 640), 90, np.uint8)).told
    assert not seams(camera()[:120]).told
