"""Key pictures and decoded pieces in one row: the same spans as from decoding everything."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from asfound.calc.picture_faults import KeyPicture, Sampler, Samples, black_spans
from asfound.calc.sample_pieces import joined
from asfound.calc.stillness import frozen_spans
from asfound.calc.timelines import Stands

RATE, GROUP = 10, 10
Luma = np.ndarray


def scene(seed: int) -> Luma:
    noise = np.random.default_rng(seed).normal(0, 20, (180, 320))
    return np.clip(120 + noise, 0, 255).astype(np.uint8)


def measured(picture: Callable[[int], Luma], numbers: Sequence[int], end_s: float) -> Samples:
    sampler = Sampler()
    for number in numbers:
        luma = picture(number)
        key = KeyPicture(20_000, luma) if number % GROUP == 0 else None
        sampler.add(number / RATE, luma, None, True, key)
    return sampler.samples(end_s)


def staged(
    picture: Callable[[int], Luma], decoded: Sequence[int], still: Sequence[int], count: int = 80
) -> Samples:
    """Key pictures of ``count``; groups ``decoded`` wholly, groups ``still`` quiet by size."""
    keys = range(0, count, GROUP)
    holds = np.isin(np.arange(len(keys)), still)
    zero = np.zeros(len(keys))
    pieces = [
        measured(picture, range(GROUP * at, min(count, GROUP * (at + 1) + 1)), float(at + 1))
        for at in decoded
    ]
    return joined(measured(picture, keys, count / RATE), Stands(holds, zero, zero), pieces)


def test_everything_decoded_is_what_decoding_everything_gives() -> None:
    def picture(number: int) -> Luma:
        return scene(number)

    whole, parts = measured(picture, range(80), 8.0), staged(picture, range(8), [])
    assert np.array_equal(parts.second, whole.second)
    assert np.array_equal(parts.key, whole.key)
    assert np.array_equal(parts.step, whole.step, equal_nan=True)
    assert np.array_equal(parts.key_step, whole.key_step, equal_nan=True)
    assert parts.dense.all() and parts.holds.all()


def test_a_stuck_scene_between_decoded_edges() -> None:
    def picture(number: int) -> Luma:
        return scene(14 if 14 <= number <= 55 else number)

    [span] = frozen_spans(staged(picture, [1, 5], [2, 3, 4]))
    assert (span.start_s, span.end_s) == (1.4, 5.6)
    [whole] = frozen_spans(measured(picture, range(80), 8.0))
    assert (whole.start_s, whole.end_s) == (span.start_s, span.end_s)


def test_what_was_neither_decoded_nor_quiet_does_not_count_as_still() -> None:
    assert frozen_spans(staged(lambda number: scene(1), [], [])) == ()


def test_black_holds_between_black_key_pictures() -> None:
    def picture(number: int) -> Luma:
        black = np.full((180, 320), 16, np.uint8)
        return black if 20 <= number < 55 else scene(number)

    [span] = black_spans(staged(picture, [5], [2, 3, 4]))
    assert (span.start_s, span.end_s) == (2.0, 5.5)


def test_nothing_at_all() -> None:
    none = Stands(np.zeros(0, np.bool_), np.zeros(0), np.zeros(0))
    assert len(joined(Sampler().samples(0.0), none, []).second) == 0
