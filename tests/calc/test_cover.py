"""Covers: blots and plates put before a passing scene, and what looks like one and is none."""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np
import pytest
from skimage.data import camera, coffee, rocket

from asfound.calc.cover import Cover, covers, detail_of, nothing_seen
from asfound.sources import COVERED_AREA

Luma = np.ndarray
HEIGHT, WIDTH = 180, 320


def passing(count: int, light: float = 1.0) -> list[Luma]:
    """A window that runs over small copies of the photograph "camera" (scikit-image)."""
    rough = np.random.default_rng(1).normal(0, 18, (512, 512))
    tiles = np.tile(cv2.resize(camera(), (64, 64), interpolation=cv2.INTER_AREA), (8, 8))
    whole = np.clip(0.6 * tiles + 50 + rough, 16, 235)
    wide = np.hstack([whole, whole])
    lit = np.clip(16 + (wide - 16) * light, 16, 235).astype(np.uint8)
    return [
        np.asarray(lit[150 : 150 + HEIGHT, 37 * at : 37 * at + WIDTH], np.uint8)
        for at in range(count)
    ]


def with_blot(picture: Luma) -> Luma:
    """A dark blot with soft edges on the lens; a twentieth of the scene shines through."""
    blot = np.zeros((HEIGHT, WIDTH), np.float32)
    cv2.ellipse(blot, (200, 90), (55, 40), 20, 0, 360, 0.95, -1)
    blot = np.asarray(cv2.GaussianBlur(blot, (0, 0), 3.5), np.float32)
    return np.asarray(np.round(picture * (1 - blot) + 38 * blot), np.uint8)


def found(pictures: list[Luma]) -> tuple[Cover, ...]:
    details = [detail_of(np.asarray(one, np.uint8)) for one in pictures]
    return covers([one for one in details if one is not None], COVERED_AREA.value)


@pytest.mark.parametrize("last", [8, 12])
def test_a_blot_is_found_from_when_it_is_there_to_when_it_is_gone(last: int) -> None:
    pictures = [with_blot(one) if 5 <= at < last else one for at, one in enumerate(passing(12))]
    [cover] = found(pictures)
    assert (cover.first, cover.last) == (5, last - 1)
    assert 0.06 < cover.area < 0.16  # the ellipse is 12 % of the picture


def test_a_blot_that_shines_lighter_for_a_while_is_one_blot() -> None:
    """Against the sun for two pictures: dust scatters light (common practice, no source)."""
    pictures = [with_blot(one) if at >= 5 else one for at, one in enumerate(passing(12))]
    for at in (8, 9):
        glow = np.zeros((HEIGHT, WIDTH), np.float32)
        cv2.ellipse(glow, (200, 90), (55, 40), 20, 0, 360, 26, -1)
        glow = np.asarray(cv2.GaussianBlur(glow, (0, 0), 3.5), np.float32)
        pictures[at] = np.asarray(np.clip(pictures[at] + glow, 16, 235), np.uint8)
    [cover] = found(pictures)
    assert (cover.first, cover.last) == (5, 11)


def test_what_lay_on_the_lens_from_the_start_is_found_when_it_comes_off() -> None:
    pictures = [with_blot(one) if at < 6 else one for at, one in enumerate(passing(12))]
    [cover] = found(pictures)
    assert (cover.first, cover.last) == (0, 5)


def test_a_blot_is_found_before_a_scene_of_strong_contrasts_that_passes_fast() -> None:
    """Blocks as bright as houses in the sun and as dark as doorways: from picture to picture half
    of the scene changes by more than a cloud would change it, lighter here and darker there."""
    random = np.random.default_rng(2)
    blocks = random.choice([35.0, 60.0, 150.0, 215.0], (16, 90))
    whole = np.kron(blocks, np.ones((20, 20))) + random.normal(0, 14, (320, 1800))
    scene = np.clip(whole, 16, 235).astype(np.uint8)
    views = [scene[70 : 70 + HEIGHT, 113 * at : 113 * at + WIDTH] for at in range(12)]
    assert not found(views)
    [cover] = found([with_blot(one) if at >= 5 else one for at, one in enumerate(views)])
    assert (cover.first, cover.last) == (5, 11)


def wandering(count: int) -> list[Luma]:
    """A window that wanders over the photograph "coffee" (scikit-image): a bright rim, wood, and
    a saucer with little detail pass by, so that much goes bare and comes back by itself."""
    whole = cv2.cvtColor(coffee(), cv2.COLOR_RGB2GRAY)
    return [
        np.asarray(whole[(29 * at) % 210 :, (47 * at) % 270 :][:HEIGHT, :WIDTH], np.uint8)
        for at in range(count)
    ]


def test_blots_before_a_scene_that_darkens_and_goes_bare_by_itself_are_found() -> None:
    views = wandering(14)
    blots = np.zeros((HEIGHT, WIDTH), np.float32)
    for place in ((60, 60), (95, 75), (230, 70), (160, 120), (260, 120)):
        cv2.ellipse(blots, place, (30, 22), 20, 0, 360, 0.95, -1)
    blots = np.asarray(cv2.GaussianBlur(blots, (0, 0), 3.5), np.float32)
    dirty = [np.asarray(np.round(one * (1 - blots) + 36 * blots), np.uint8) for one in views]
    assert not found(views)
    [cover] = found([*views[:5], *dirty[5:]])
    assert (cover.first, cover.last) == (5, 13)
    assert 0.06 < cover.area < 0.18  # the ellipses are 18 % of the picture, rims taken off


def darkness(picture: Luma) -> Luma:
    """A tunnel: nearly nothing is lit, and a lamp passes."""
    out = np.full((HEIGHT, WIDTH), 22, np.uint8)
    out[20:30, 100:140] = 200
    out[150:] = 20 + picture[150:] // 8
    return out


def test_a_scene_that_stops_or_sticks_is_no_cover() -> None:
    """Bare places stay as they are from then on, and so does all the rest: common practice, no
    source."""
    for views in (wandering(14), passing(14)):
        for at in range(4, 9):
            assert not found([*views[:at], *[views[at]] * (14 - at)])
            assert not found([*[views[at]] * at, *views[at:]])


@pytest.mark.parametrize("change", [darkness, lambda one: np.asarray(one // 2 + 8, np.uint8)])
def test_a_tunnel_and_a_cloud_are_no_cover(change: Callable[[Luma], Luma]) -> None:
    assert not found([change(one) if at >= 5 else one for at, one in enumerate(passing(12))])


def test_a_scene_that_passes_is_no_cover_by_day_and_by_night() -> None:
    assert not found(passing(12))
    assert not found(passing(12, light=0.1))


def test_a_smooth_evening_sky_that_thin_masts_cross_is_no_cover() -> None:
    """What moves on uncovers as much as it hides. The photograph "rocket" (scikit-image): masts
    before a sky without detail, no brighter than a cover; the view drifts, as on a bend."""
    whole = cv2.cvtColor(rocket(), cv2.COLOR_RGB2GRAY)
    for step in (9, 14, 23):
        pictures = [
            np.asarray(whole[90 : 90 + HEIGHT, step * at : step * at + WIDTH], np.uint8)
            for at in range(1 + (whole.shape[1] - WIDTH) // step)
        ]
        assert not found(pictures), step


def test_nothing_is_seen_behind_a_plate() -> None:
    plate = np.full((HEIGHT, WIDTH), 90, np.uint8)
    details = [detail_of(one) for one in (*passing(2), plate)]
    assert nothing_seen([one for one in details if one is not None]).tolist() == [0, 0, 1]
