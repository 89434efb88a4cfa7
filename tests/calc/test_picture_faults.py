"""Black and one colour: FFmpeg's and the EBU's definitions, and what a dark road is not."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.key_pictures import equal_blocks
from asfound.calc.picture_faults import (
    Judged,
    KeyPicture,
    Sampler,
    Samples,
    black_limit,
    black_spans,
    difference,
    grid_size,
    one_colour_share,
    one_colour_spans,
)

SIZE = (180, 320)
Luma = np.ndarray


def film(picture: Callable[[int], Luma], seconds: float = 4.0, rate: int = 10) -> Samples:
    """Samples of pictures without coding; every tenth is a key picture."""
    sampler = Sampler()
    count = round(seconds * rate)
    for number in range(count):
        luma = picture(number)
        key = KeyPicture(1000, luma) if number % 10 == 0 else None
        sampler.add(number / rate, luma, None, True, key)
    return sampler.samples(count / rate)


def flat(value: int) -> Luma:
    return np.full(SIZE, value, np.uint8)


def noisy(base: Luma, sigma: float, seed: int) -> Luma:
    noise = np.random.default_rng(seed).normal(0, sigma, base.shape)
    return np.clip(base + noise, 0, 255).astype(np.uint8)


def test_black_limits_are_those_of_blackdetect() -> None:
    # FFmpeg vf_blackdetect.c: pixel_black_th 0.10 -> 37 in limited, 25 in full range.
    assert (black_limit(True), black_limit(False)) == (37, 25)


@pytest.mark.parametrize(
    ("source", "measured"),
    [((1920, 1080), (320, 180)), ((704, 576), (320, 180)), ((176, 144), (176, 144))],
)
def test_pictures_are_measured_in_whole_tiles(
    source: tuple[int, int], measured: tuple[int, int]
) -> None:
    assert grid_size(*source) == measured


@given(st.integers(0, 255), st.integers(0, 255))
def test_difference_of_flat_pictures_is_the_difference_of_their_values(one: int, two: int) -> None:
    assert difference(flat(one), flat(two)) == pytest.approx(abs(one - two))


def test_plain_black_is_black_for_its_whole_time() -> None:
    [span] = black_spans(film(lambda number: flat(16)))
    assert (span.start_s, span.end_s, span.judged) == (0.0, 4.0, Judged.FAULT)
    assert span.measured == 1.0


def test_black_shorter_than_two_seconds_is_not_reported() -> None:
    # FFmpeg vf_blackdetect.c: black_min_duration 2 s.
    assert black_spans(film(lambda number: flat(16 if number < 19 else 120))) == ()
    assert len(black_spans(film(lambda number: flat(16 if number < 20 else 120)))) == 1


def test_a_burned_in_line_does_not_hide_black() -> None:
    def picture(number: int) -> Luma:
        luma = flat(16)
        luma[8:18, 10 : 150 + number % 10] = 235
        return luma

    [span] = black_spans(film(picture))
    assert span.judged is Judged.FAULT


def test_passing_lamps_are_no_black_picture() -> None:
    def picture(number: int) -> Luma:
        luma = noisy(flat(22), 1.0, number)
        luma[60:66, (number * 9) % 300 : (number * 9) % 300 + 12] = 220
        return luma

    assert black_spans(film(picture)) == ()


def test_texture_in_the_dark_is_a_scene() -> None:
    road = flat(18)
    road[100:, 80:240] = 30
    assert black_spans(film(lambda number: noisy(road, 1.0, number))) == ()


def test_even_darkness_with_sensor_noise_is_unclear() -> None:
    [span] = black_spans(film(lambda number: noisy(flat(24), 3.0, number)))
    assert span.judged is Judged.UNCLEAR


@pytest.mark.parametrize("value", [41, 128, 210])
def test_a_generated_colour_is_no_signal(value: int) -> None:
    def picture(number: int) -> Luma:
        luma = flat(value)
        luma[8:18, 10:150] = 235 if value < 200 else 16
        return luma

    [span] = one_colour_spans(film(picture))
    assert span.judged is Judged.FAULT
    # EBU QC 0016B v2.0.0: one colour over 90 % of the area.
    assert span.measured >= 0.90


def test_fog_is_unclear_and_a_scene_is_neither() -> None:
    [span] = one_colour_spans(film(lambda number: noisy(flat(180), 1.4, number)))
    assert span.judged is Judged.UNCLEAR
    slope = np.tile(np.linspace(150, 210, 320), (180, 1)).astype(np.uint8)
    assert one_colour_spans(film(lambda number: noisy(slope, 1.0, number))) == ()


def test_two_hues_of_one_brightness_are_not_one_colour() -> None:
    chroma = np.full((9, 16, 2), 60, np.uint8)
    assert one_colour_share(flat(100), chroma) == 1.0
    chroma[:, 8:] = 200
    assert one_colour_share(flat(100), chroma) == 0.0


def test_no_pictures_give_no_spans() -> None:
    nothing = Sampler().samples(0.0)
    assert black_spans(nothing) == one_colour_spans(nothing) == ()


def test_equal_blocks_of_the_same_and_of_another_noise() -> None:
    scene = noisy(flat(120), 20.0, 1)
    assert equal_blocks(scene, [scene.copy()]) == 1.0
    assert equal_blocks(scene, [noisy(scene, 2.0, 2)]) == 0.0
    assert equal_blocks(scene, [noisy(scene, 2.0, 2), scene.copy()]) == 1.0, "the most alike"
    assert np.isnan(equal_blocks(flat(120), [flat(120)])), "nothing to compare: no texture"
    assert np.isnan(equal_blocks(scene, [scene[:90]]))


def test_equal_blocks_of_a_large_picture_are_sampled() -> None:
    large = np.tile(noisy(flat(120), 20.0, 1), (6, 6))
    half = large.copy()
    half[:, : large.shape[1] // 2] ^= 1
    assert equal_blocks(large, [half]) == pytest.approx(0.5)
