"""Stuck or parked, on made-up samples; real coding is tested in tests/jobs and tests/journeys."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from asfound.calc.picture_faults import Judged, KeyPicture, Sampler, Samples
from asfound.calc.stillness import frozen_spans

SIZE = (180, 320)
RATE = 10
Luma = np.ndarray


def scene(seed: int, sigma: float = 20.0) -> Luma:
    noise = np.random.default_rng(seed).normal(0, sigma, SIZE)
    return np.clip(120 + noise, 0, 255).astype(np.uint8)


def live(base: Luma, seed: int) -> Luma:
    noise = np.random.default_rng(seed).normal(0, 1.5, SIZE)
    return np.clip(base + noise, 0, 255).astype(np.uint8)


def film(picture: Callable[[int], Luma], size: Callable[[int], int], count: int = 80) -> Samples:
    """A key picture each second; pictures between keys repeat the key, as coarse coding does."""
    sampler = Sampler()
    for number in range(count):
        luma = picture(number)
        key = KeyPicture(size(number), luma) if number % RATE == 0 else None
        sampler.add(number / RATE, luma, None, True, key)
    return sampler.samples(count / RATE)


def parked(number: int) -> Luma:
    """Only key pictures bring new noise."""
    return live(scene(1), number // RATE)


def test_key_pictures_that_come_out_the_same_mean_stuck() -> None:
    [span] = frozen_spans(film(lambda number: scene(1), lambda number: 20_000))
    assert (span.start_s, span.end_s, span.judged) == (0.0, 8.0, Judged.FAULT)
    assert span.measured == 0.0


def test_equal_sizes_and_other_noise_mean_parked() -> None:
    assert frozen_spans(film(parked, lambda number: 20_000 + number % 20)) == ()


def test_changing_quality_cannot_be_told() -> None:
    [span] = frozen_spans(film(parked, lambda number: 20_000 + 400 * number))
    assert span.judged is Judged.UNCLEAR


def test_unknown_sizes_cannot_be_told() -> None:
    [span] = frozen_spans(film(parked, lambda number: 0))
    assert span.judged is Judged.UNCLEAR


def test_a_clock_that_runs_on_does_not_hide_it() -> None:
    def picture(number: int) -> Luma:
        luma = scene(1)
        luma[6:18, 20:180] = 16
        luma[8:16, 20 + 7 * ((number + 5) // RATE) : 60 + 7 * ((number + 5) // RATE)] = 235
        return luma

    [span] = frozen_spans(film(picture, lambda number: 20_000))
    assert span.judged is Judged.FAULT
    assert "burned-in line" in span.note


def test_something_that_moves_in_the_picture_is_life() -> None:
    def picture(number: int) -> Luma:
        luma = scene(1)
        luma[80:120, (number * 11) % 280 : (number * 11) % 280 + 40] = 30
        return luma

    assert frozen_spans(film(picture, lambda number: 20_000)) == ()


@pytest.mark.parametrize(("count", "found"), [(19, 0), (20, 1)])
def test_two_seconds_are_needed(count: int, found: int) -> None:
    # FFmpeg vf_freezedetect.c: duration 2 s.
    def picture(number: int) -> Luma:
        return scene(1) if number < count else scene(number)

    assert len(frozen_spans(film(picture, lambda number: 20_000, 40))) == found


def test_from_moving_to_standing_in_one_sample_is_stuck_without_any_key_picture() -> None:
    sampler = Sampler()
    for number in range(60):
        luma = scene(min(number, 30))
        key = KeyPicture(20_000, luma) if number == 0 else None
        sampler.add(number / RATE, luma, None, True, key)
    [span] = frozen_spans(sampler.samples(6.0))
    assert (span.start_s, span.end_s, span.judged) == (3.0, 6.0, Judged.FAULT)


def test_coming_to_rest_without_any_key_picture_cannot_be_told() -> None:
    wide = np.tile(scene(1), (1, 2))
    where = np.cumsum(np.concatenate(([0], 8.0 * 0.55 ** np.arange(29)))).astype(int)
    sampler = Sampler()
    for number in range(60):
        left = int(where[min(number, 29)])
        luma = np.ascontiguousarray(wide[:, left : left + SIZE[1]])
        # A soft picture, so that small movements are small changes.
        soft = np.asarray(luma, np.float32).reshape(90, 2, 160, 2).mean(axis=(1, 3))
        small = np.repeat(np.repeat(soft, 2, 0), 2, 1).astype(np.uint8)
        key = KeyPicture(20_000, small) if number == 0 else None
        sampler.add(number / RATE, small, None, True, key)
    [span] = frozen_spans(sampler.samples(6.0))
    assert span.judged is Judged.UNCLEAR


def test_alternating_qualities_of_motion_jpeg_do_not_hide_it() -> None:
    fine, coarse = scene(1), live(scene(1), 99)
    sampler = Sampler()
    for number in range(60):
        luma = fine if number % 4 else coarse
        sampler.add(number / RATE, luma, None, True, KeyPicture(30_000, luma))
    [span] = frozen_spans(sampler.samples(6.0))
    assert span.judged is Judged.FAULT
    assert span.end_s - span.start_s >= 5.0


def test_fewer_than_two_pictures_show_nothing() -> None:
    assert frozen_spans(Sampler().samples(0.0)) == ()
    assert frozen_spans(film(parked, lambda number: 1, 1)) == ()


def test_stuck_spans_that_meet_in_a_pair_that_seems_alive_are_one() -> None:
    # Key pictures 0 to 3 and 4 to 7 come out the same; 3 and 4 differ, at equal sizes.
    def picture(number: int) -> Luma:
        return live(scene(1), 3 if number < 40 else 4)

    [span] = frozen_spans(film(picture, lambda number: 20_000))
    assert (span.start_s, span.end_s, span.judged) == (0.0, 8.0, Judged.FAULT)
