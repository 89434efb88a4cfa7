"""How scenes stop and set off, on made-up samples. What vehicles can do is common practice, no
source: they come to rest by moving less and less, and set off by moving more and more."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from asfound.calc.picture_faults import Judged, KeyPicture, Sampler, Samples
from asfound.calc.standstill import leaves_at_speed, movement, onset_of, rests_at_first
from asfound.calc.stillness import frozen_spans

SIZE = (180, 320)
RATE = 10
Luma = NDArray[np.uint8]


def scene(seed: int) -> Luma:
    noise = np.random.default_rng(seed).normal(0, 20, SIZE)
    return np.clip(120 + noise, 0, 255).astype(np.uint8)


def film(picture: Callable[[int], Luma], count: int) -> Samples:
    """Only the first picture is a key picture: nothing but movement can tell."""
    sampler = Sampler()
    for number in range(count):
        luma = picture(number)
        sampler.add(
            number / RATE, luma, None, True, KeyPicture(20_000, luma) if number == 0 else None
        )
    return sampler.samples(count / RATE)


def test_a_scene_that_is_at_full_speed_at_once_was_stuck() -> None:
    samples = film(lambda number: scene(max(0, number - 29)), 45)
    [span] = frozen_spans(samples)
    assert (span.start_s, span.end_s, span.judged) == (0.0, 3.0, Judged.FAULT)


def soft(left: int) -> Luma:
    """A soft picture that has moved ``left`` pixels: small movements are small changes."""
    noise = np.random.default_rng(3).normal(0, 1, (SIZE[0] // 12, 3 * SIZE[1] // 12))
    wide = np.repeat(np.repeat(noise, 12, 0), 12, 1)
    kernel = np.ones(12) / 12
    smooth = np.apply_along_axis(lambda row: np.convolve(row, kernel, "same"), 1, wide)
    return np.asarray(np.clip(120 + 30 * smooth[:, left : left + SIZE[1]], 0, 255), np.uint8)


def test_setting_off_more_and_more_cannot_be_told() -> None:
    where = [0] * 30 + [round(0.5 * step**2) for step in range(1, 16)]
    [span] = frozen_spans(film(lambda number: soft(where[number]), 45))
    assert span.judged is Judged.UNCLEAR


def test_light_that_is_switched_on_is_no_movement() -> None:
    def picture(number: int) -> Luma:
        lift = 0 if number < 30 else max(0, 40 - 3 * (number - 30))
        return np.clip(scene(1).astype(np.int16) + lift, 0, 255).astype(np.uint8)

    samples = film(picture, 45)
    assert not leaves_at_speed(samples, 0, 29)
    assert movement(samples)[30] < 1.0


def test_a_slight_onset_counts_only_with_an_end_at_once() -> None:
    # A dark scene: lamps change little of it.
    def lamp(number: int, moving: Callable[[int], bool]) -> Luma:
        luma = np.full(SIZE, 30, np.uint8)
        at = sum(moving(one) for one in range(number + 1)) * 37 % 260
        if number >= 40 and moving(number):
            at = (at + 130) % 260
        luma[80:88, at : at + 30] = 80
        return luma

    def both(number: int) -> bool:
        return number <= 10 or number >= 40

    samples = film(lambda number: lamp(number, both), 55)
    assert onset_of(samples, 11, 39) == 10
    begins = film(lambda number: lamp(number, lambda one: one <= 10), 55)
    assert onset_of(begins, 11, 54) is None


def test_nothing_after_the_run_tells_nothing() -> None:
    samples = film(lambda number: scene(1), 30)
    assert not leaves_at_speed(samples, 0, 29)


def tunnel(number: int, moving: Callable[[int], bool], sides: int) -> Luma:
    """Lamps that pass on one side or both, in the dark."""
    luma = np.full(SIZE, 25, np.uint8)
    at = sum(moving(one) for one in range(number + 1)) * 13 % 90
    for left in (150 - at, 160 + at)[:sides]:
        luma[60 + at // 3 : 66 + at // 3, left : left + 6] = 60
    return luma


def test_lamps_that_stop_and_go_on_at_once_on_both_sides_were_stuck() -> None:
    def moving(number: int) -> bool:
        return number < 20 or number >= 50

    [span] = frozen_spans(film(lambda number: tunnel(number, moving, 2), 70))
    assert span.judged is Judged.FAULT
    assert (span.start_s, span.end_s) == pytest.approx((2.0, 5.0), abs=0.21)


def test_what_passes_on_one_side_of_a_parked_vehicle_tells_nothing() -> None:
    def moving(number: int) -> bool:
        return number < 20 or number >= 50

    [span] = frozen_spans(film(lambda number: tunnel(number, moving, 1), 70))
    assert span.judged is Judged.UNCLEAR


def test_a_wiper_that_sweeps_now_and_then_tells_nothing() -> None:
    def moving(number: int) -> bool:
        return number % 40 < 10

    spans = frozen_spans(film(lambda number: tunnel(number, moving, 2), 130))
    assert spans and all(span.judged is Judged.UNCLEAR for span in spans)


def test_whether_a_scene_rests_right_after_a_key_picture() -> None:
    assert rests_at_first(film(lambda _: soft(0), 20)), "it stands still"
    assert rests_at_first(film(lambda number: soft(max(0, number - 12)), 20)), "it sets off later"
    assert not rests_at_first(film(lambda number: soft(3 * number), 20)), "it moves"
    assert not rests_at_first(film(lambda _: soft(0), 3)), "too few pictures"


def test_a_passer_by_who_leaves_the_view_of_a_parked_vehicle_is_no_onset() -> None:
    def picture(number: int) -> Luma:
        luma = soft(0).copy()
        left = 12 * number
        luma[70:150, left : left + 30] = 30
        return luma

    assert onset_of(film(picture, 60), 30, 59) is None
    [span] = frozen_spans(film(picture, 60))
    assert span.judged is Judged.UNCLEAR
