"""Which key pictures and groups are decoded, on made-up sizes; real coding in tests/jobs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.new_noise import probe_wanted
from asfound.calc.still_pairs import Tells
from asfound.calc.suspicion import (
    Key,
    Seen,
    Traits,
    carries_noise,
    falls,
    key_wanted,
    need,
    quiet_bytes,
    refines,
    traits_of,
)

RATE = 25


def traits(sizes: list[int], start: float = 0.0, keys: int = 1, blocks: int = 0) -> Traits:
    seconds = start + np.arange(len(sizes)) / RATE
    return traits_of(seconds, np.array(sizes), keys, start + len(sizes) / RATE, blocks)


MOVING = [20_000] + [3_000] * 49
STILL = [20_000] + [40] * 49
STOPS = [20_000] + [3_000] * 24 + [40] * 25
STARTS = [20_000] + [40] * 24 + [3_000] * 25


def test_a_moving_scene_is_never_quiet() -> None:
    seen = traits(MOVING)
    assert (seen.lead_s, seen.tail_s, seen.longest_s, seen.whole) == (0, 0, 0, False)
    assert (seen.start_s, seen.end_s, seen.typical, seen.key_bytes) == (0, 2.0, 3000, 20_000)


def test_repeated_pictures_are_quiet_and_a_clock_that_ticks_is_no_change() -> None:
    ticking = list(STILL)
    for at in (10, 35):
        ticking[at] = 900
    for sizes in (STILL, ticking):
        seen = traits(sizes)
        assert seen.whole and seen.lead_s == seen.tail_s == seen.longest_s == 2.0


@pytest.mark.parametrize(("sizes", "lead", "tail"), [(STOPS, 0.0, 1.0), (STARTS, 1.0, 0.0)])
def test_where_it_turns_quiet_is_told_to_a_few_pictures(
    sizes: list[int], lead: float, tail: float
) -> None:
    seen = traits(sizes, start=6.0)
    assert (seen.lead_s, seen.tail_s) == pytest.approx((lead, tail), abs=0.1)


def test_a_picture_as_large_as_a_key_picture_breaks_the_quiet() -> None:
    sizes = list(STILL)
    sizes[25] = 15_000
    seen = traits(sizes)
    assert not seen.whole
    assert seen.lead_s == pytest.approx(1.0, abs=0.05)
    assert seen.tail_s == pytest.approx(0.96, abs=0.05)


def test_a_coder_that_mends_its_key_picture_does_not_break_it() -> None:
    assert traits([20_000, 15_000, 4000, 2000, 900, 600] + [40] * 44).whole


def test_key_pictures_throughout_say_nothing_by_size_but_steady_or_not() -> None:
    steady, other = traits([9_000, 9_010] * 12, keys=24), traits([9_000, 12_000] * 12, keys=24)
    assert steady.intra and steady.steady and not steady.whole
    assert other.intra and not other.steady


def test_codecs_that_code_each_block_take_more_for_nothing() -> None:
    # MPEG-4 part 2 (ISO/IEC 14496-2): one bit says that a macroblock is not coded.
    blocks = 80 * 45
    assert quiet_bytes(20_000, blocks) > blocks / 8 > quiet_bytes(20_000, 0)


@given(st.lists(st.integers(20, 60_000), min_size=1, max_size=80), st.integers(0, 4000))
def test_times_stay_within_the_group(sizes: list[int], blocks: int) -> None:
    seen = traits(sizes, blocks=blocks)
    assert 0 <= seen.lead_s <= seen.longest_s <= seen.seconds + 1e-9
    assert 0 <= seen.tail_s <= seen.longest_s
    assert seen.whole == (seen.longest_s > 0 and seen.longest_s == pytest.approx(seen.seconds))


LIVE = Key(True, beside=True, change=9.0)
SAME = Key(True, beside=True, change=0.1, tells=Tells.STUCK)
ALIVE = Key(True, beside=True, change=1.0, tells=Tells.ALIVE)
MAYBE = Key(True, beside=True, change=1.0)


def row(*parts: tuple[list[int], Key]) -> list[Seen]:
    return [
        Seen(traits(sizes, 2.0 * number), key, False, True)
        for number, (sizes, key) in enumerate(parts)
    ]


def wanted(*parts: tuple[list[int], Key], before: float = 0.0) -> list[bool]:
    groups = row(*parts)
    return [need(groups, at, before if at == 1 else 0.0) for at in range(len(groups))]


def test_moving_and_parked_scenes_need_no_decoding() -> None:
    assert not any(wanted((MOVING, LIVE), (MOVING, LIVE), (MOVING, LIVE)))
    assert not any(wanted((STILL, ALIVE), (STILL, ALIVE), (STILL, ALIVE)))


def test_what_may_be_damaged_or_is_too_long_is_decoded() -> None:
    group = row((MOVING, LIVE))[0]
    assert need([replace(group, suspect=True)], 0, 0.0)
    assert need([replace(group, traits=replace(group.traits, end_s=9.0))], 0, 0.0)


def test_a_stuck_scene_is_told_by_key_pictures_and_its_edges_by_sizes() -> None:
    parts = ((MOVING, LIVE), (STOPS, LIVE), (STILL, LIVE), (STILL, SAME), (STARTS, SAME))
    assert not any(wanted(*parts, (MOVING, LIVE), (MOVING, LIVE)))


def test_a_scene_that_stands_still_over_one_key_picture_only_is_decoded() -> None:
    assert wanted((MOVING, LIVE), (STOPS, LIVE), (STARTS, LIVE), (MOVING, LIVE))[1]


def test_noise_between_like_key_pictures_is_probed_and_decoded_unless_it_lives() -> None:
    assert probe_wanted(traits(MOVING), MAYBE)
    assert not probe_wanted(traits(MOVING), ALIVE) and not probe_wanted(traits(STILL), MAYBE)
    assert wanted((MOVING, LIVE), (MOVING, MAYBE))[0]
    assert not wanted((MOVING, LIVE), (MOVING, ALIVE))[0]


BLACK = Key(True, empty=1, beside=True, change=90.0)


def test_black_is_decoded_only_where_sizes_leave_its_edge_open() -> None:
    assert not any(wanted((MOVING, LIVE), (STILL, BLACK), (STILL, BLACK), (STARTS, BLACK)))
    noisy = wanted((MOVING, LIVE), (MOVING, BLACK), (MOVING, BLACK), (MOVING, LIVE))
    assert noisy == [True, True, True, False]


def test_key_pictures_are_passed_over_while_sizes_show_nothing() -> None:
    moving = row((MOVING, LIVE))[0]
    assert key_wanted(None, moving.traits, 0.0, 4.0)
    assert not key_wanted(moving, traits(MOVING, 2.0), 2.0, 4.0)
    assert key_wanted(moving, traits(MOVING, 2.0), 4.0, 4.0), "too long ago"
    assert key_wanted(moving, traits(STOPS, 2.0), 2.0, 4.0), "it turns quiet"
    assert key_wanted(moving, traits([20_000] + [900] * 49, 2.0), 2.0, 4.0), "another scene"
    assert key_wanted(replace(moving, key=BLACK), traits(MOVING, 2.0), 2.0, 4.0)
    parked = Seen(traits(STILL), ALIVE, False, True)
    assert not key_wanted(parked, traits(STILL, 2.0), 1.0, 4.0), "parked and alive until now"
    assert key_wanted(parked, traits(STILL, 2.0), 2.0, 4.0), "parked: it may get stuck any time"
    assert key_wanted(parked, traits([9_000] + [40] * 49, 2.0), 2.0, 4.0), "another key picture"


def lean_both_ways(large: int, small: int) -> Traits:
    """Each fourth picture leans on earlier ones, those between on both sides."""
    order = [0] + [at + shift for at in range(4, 49, 4) for shift in (0, -3, -2, -1)]
    sizes = [20_000] + [large, small, small, small] * 12
    return traits_of(np.array(order) / RATE, np.array(sizes), 1, 2.0, 0)


def test_one_picture_that_is_refined_carries_no_noise() -> None:
    refined, live = lean_both_ways(9_000, 600), lean_both_ways(9_000, 5_000)
    assert refines(refined) and not carries_noise(refined, 20_000)
    assert carries_noise(live, 20_000) and not refines(live)


def test_after_pictures_have_shrunk_the_next_key_picture_is_wanted() -> None:
    moving, shrunk = traits(MOVING), traits([20_000] + [1_200] * 49, start=2.0)
    assert falls(moving, shrunk) and not falls(shrunk, moving)
    later = traits([20_000] + [1_200] * 49, start=4.0)
    key = Key(True, beside=True, change=20.0)
    assert key_wanted(Seen(shrunk, key, False, fell=True), later, 2.0, 4.0)
    assert not key_wanted(Seen(shrunk, key, False), later, 2.0, 4.0)


def test_that_key_pictures_of_two_scenes_differ_is_no_sign_of_life() -> None:
    groups = [
        Seen(traits(MOVING), Key(True), False, True),
        Seen(traits(STILL, start=2.0), Key(True, beside=True, change=20.0), False, True),
        Seen(traits(MOVING, start=4.0), Key(True, beside=True, tells=Tells.ALIVE), False, True),
    ]
    for change, wanted in ((20.0, True), (1.0, False)):
        after = replace(groups[2].key, change=change)
        assert need([*groups[:2], replace(groups[2], key=after)], 0, 0.0) is wanted


def test_what_sizes_tell_needs_no_decoding_unless_something_is_damaged() -> None:
    edge = Seen(traits(STOPS), Key(True), False)
    dark = Seen(traits(MOVING, start=2.0), Key(True, empty=1, beside=True), False)
    assert need([edge, dark], 0, 0.0)
    assert not need([replace(edge, known=True), dark], 0, 0.0)
    assert need([replace(edge, known=True, suspect=True), dark], 0, 0.0)


def test_quiet_of_one_colour_does_not_count() -> None:
    dark = Seen(traits(STILL), Key(True, empty=1), False)
    scene = Seen(
        traits([20_000] + [40] * 12 + [3_000] * 37, 2.0), Key(True, beside=True, change=50.0), False
    )
    moving = Seen(traits(MOVING, 4.0), Key(False), False)
    assert not need([dark, scene, moving], 1, 2.0)
    # A scene may have turned still right after the key picture before.
    assert need([replace(dark, key=Key(True)), scene, moving], 1, 2.0)


def test_a_still_group_that_ends_early_is_looked_at() -> None:
    # A parked scene, black for three seconds, and the key picture that shows the scene again.
    dark = traits([20_000] + [40] * 20 + [2_000] + [40] * 60)
    alive = Key(True, beside=True, change=2.0, tells=Tells.ALIVE)
    after = Seen(traits(STILL, 3.3), alive, False, regular=True)
    early = Seen(dark, alive, False, regular=False)
    assert dark.whole
    assert need([after, early, after, after], 1, 2.0)
    assert not need([after, replace(early, regular=True), after, after], 1, 2.0)
