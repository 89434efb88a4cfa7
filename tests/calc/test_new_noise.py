"""What lies between two key pictures: made-up changes with known answers; real coding is tested
in tests/jobs/test_prove_stages.py."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from asfound.calc.new_noise import (
    Between,
    Vouched,
    between_tell,
    lives_on,
    probe_wanted,
    refined_only,
    vouched_by,
)
from asfound.calc.still_pairs import Tells
from asfound.calc.suspicion import Key, Seen, Traits, carries_noise, traits_of

BUSY = Traits(0.0, 2.0, 0.3, 0.0, 0.3, False, 3000.0, 40_000, late_bytes=6000.0)
SECONDS = np.arange(1, 20) / 10
SIMILAR = Key(True, 0, True, 1.5)


def steps(change: NDArray[np.float64]) -> NDArray[np.float32]:
    """The same change in each of 80 tiles."""
    return np.repeat(change.astype(np.float32)[:, None], 80, axis=1)


def test_noise_that_goes_on_is_alive() -> None:
    told = between_tell(steps(np.full(19, 0.4)), SECONDS, BUSY, 1.5)
    assert told.tells is Tells.ALIVE and told.goes_on == pytest.approx(0.4)


def test_changes_that_run_out_while_bytes_are_spent_are_stuck() -> None:
    fading = np.asarray(0.4 * 0.7 ** np.arange(19), np.float64)
    assert between_tell(steps(fading), SECONDS, BUSY, 1.0).tells is Tells.STUCK


def test_pictures_that_repeat_the_key_picture_tell_nothing() -> None:
    told = between_tell(steps(np.zeros(19)), SECONDS, BUSY, 1.5)
    assert told.tells is Tells.NOTHING


def test_something_that_passes_is_alive() -> None:
    passing = steps(np.zeros(19))
    for at in range(19):
        passing[at, 4 * at % 80 : 4 * at % 80 + 4] = 9.0
    assert between_tell(passing, SECONDS, BUSY, 1.5).tells is Tells.ALIVE


def test_too_few_pictures_tell_nothing() -> None:
    assert between_tell(steps(np.full(4, 0.4)), SECONDS[:4], BUSY, 1.5).tells is Tells.NOTHING


@given(st.floats(0.0, 5.0), st.floats(0.01, 5.0))
def test_an_even_change_is_never_stuck(level: float, change: float) -> None:
    told = between_tell(steps(np.full(19, level)), SECONDS, BUSY, change)
    assert told.tells is not Tells.STUCK


def test_live_pictures_of_the_stream_are_the_measure() -> None:
    live = Between(BUSY, 0.5, 0.6, Tells.ALIVE)
    slight, some = Between(BUSY, 0.1, 0.2, Tells.NOTHING), Between(BUSY, 0.3, 0.4, Tells.NOTHING)
    cheap = Between(replace(BUSY, late_bytes=100.0), 0.1, 0.2, Tells.NOTHING)
    bursts = Between(BUSY, 0.1, 0.5, Tells.NOTHING)
    assert refined_only([live, slight, some, cheap, bursts]) == [slight]
    assert refined_only([slight]) == [], "nothing to measure by"
    assert refined_only([Between(BUSY, float("nan"), float("nan"), Tells.ALIVE), slight]) == [], (
        "it moved"
    )


def test_a_probe_holds_while_sizes_are_alike() -> None:
    vouched = Vouched(0.0, (3000.0, 3000.0), (40_000, 40_000))
    assert vouched.covers(replace(BUSY, start_s=30.0))
    assert not vouched.covers(replace(BUSY, start_s=90.0)), "too long ago"
    assert not vouched.covers(replace(BUSY, typical=300.0)), "pictures shrink"
    assert not vouched.covers(replace(BUSY, key_bytes=80_000)), "key pictures grow"
    assert vouched.covers(replace(BUSY, key_bytes=25_000)), "a stuck source never does that"


def test_pictures_that_lean_both_ways_show_it_whatever_key_pictures_do() -> None:
    vouched = Vouched(0.0, (3000.0, 3000.0), (40_000, 40_000), 2400.0)
    live = replace(BUSY, start_s=30.0, both_ways=2000.0)
    assert vouched.spends(live) and vouched.spends(replace(live, key_bytes=200_000))
    assert not vouched.spends(replace(live, start_s=90.0)), "too long ago"
    assert not vouched.spends(replace(live, both_ways=450.0)), "nothing new"
    assert not vouched.spends(replace(live, typical=400.0)), "pictures shrink"
    assert not Vouched(0.0, (3000.0, 3000.0), (40_000, 40_000)).spends(live), (
        "none leaned both ways"
    )


def test_each_live_group_widens_what_counts_as_alive() -> None:
    def seen(second: float, typical: float, key_bytes: int, tells: Tells = Tells.ALIVE) -> Between:
        traits = replace(
            BUSY, start_s=second, typical=typical, key_bytes=key_bytes, both_ways=typical
        )
        return Between(traits, 0.2, 0.2, tells)

    one = vouched_by(seen(2.0, 1200.0, 70_000), None)
    assert one == Vouched(2.0, (1200.0, 1200.0), (70_000, 70_000), 1200.0)
    two = vouched_by(seen(8.0, 600.0, 24_000), one)
    assert two == Vouched(8.0, (600.0, 1200.0), (24_000, 70_000), 600.0)
    assert vouched_by(seen(180.0, 900.0, 50_000), two) == Vouched(
        180.0, (900.0, 900.0), (50_000, 50_000), 900.0
    ), "what was seen long ago is over"
    assert vouched_by(seen(10.0, 900.0, 50_000, Tells.STUCK), two) is None
    assert vouched_by(seen(10.0, 900.0, 50_000, Tells.NOTHING), two) is None


def test_what_is_probed() -> None:
    assert probe_wanted(BUSY, SIMILAR)
    assert not probe_wanted(replace(BUSY, late_bytes=40.0), SIMILAR), "nothing is coded"
    assert not probe_wanted(BUSY, replace(SIMILAR, tells=Tells.ALIVE)), "known"
    assert not probe_wanted(BUSY, replace(SIMILAR, empty=1)), "black"
    assert not probe_wanted(BUSY, replace(SIMILAR, change=20.0)), "another scene"


def row_of(both_ways: int) -> Traits:
    """Key, then pictures that lead and two that lean both ways, as coders order them."""
    order = [0.0]
    for lead in range(3, 49, 3):
        order += [lead / 25, (lead - 2) / 25, (lead - 1) / 25]
    sizes = [40_000] + [8000, both_ways, both_ways] * 16
    return traits_of(np.array(order), np.array(sizes), 1, 2.0, 0)


def test_pictures_that_lean_both_ways_carry_noise_only_when_alive() -> None:
    live, stuck = row_of(2000), row_of(200)
    assert live.both_ways == 2000 and stuck.both_ways == 200
    assert carries_noise(live, 40_000) and not carries_noise(stuck, 40_000)
    assert not carries_noise(live, 200_000), "the next key picture is far finer"
    first, second = Seen(live, Key(True), False), Seen(stuck, SIMILAR, False)
    assert lives_on([first, second, second]) == 0
    assert lives_on([first, Seen(live, Key(True), False)]) is None, "another scene"


def test_pictures_in_order_lean_one_way() -> None:
    seconds = np.arange(50) / 25
    assert traits_of(seconds, np.full(50, 900), 1, 2.0, 0).both_ways == 0
