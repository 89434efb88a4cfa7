"""Aim: photographs shifted and turned by known amounts, light reversed, and what cannot match."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
import pytest
from skimage.data import camera
from skimage.registration import phase_cross_correlation
from tests.driving_views import KEPT, before, driving

from asfound.calc.aim import (
    CODES,
    Aim,
    best_match,
    directions,
    matches,
    packed,
    packed_directions,
    spectra,
    staying,
)
from asfound.calc.aim_parts import each_in_place, softened
from asfound.calc.aim_spans import Held, aims

Luma = np.ndarray


def view(right: float = 0.0, down: float = 0.0, turn: float = 0.0) -> Luma:
    """A window of the photograph "camera" (scikit-image), 400 x 225; shifts in pixels."""
    way = cv2.getRotationMatrix2D((256, 256), -turn, 1.0)
    way[0, 2] += right - 56
    way[1, 2] += down - 140
    return np.asarray(cv2.warpAffine(camera(), way, (400, 225)), np.uint8)


def passing(pictures: Sequence[Luma], seed: int = 4) -> list[Luma]:
    """Something else in the upper half of each picture."""
    random = np.random.default_rng(seed)
    out = []
    for picture in pictures:
        made = picture.copy()
        rough = random.normal(110, 60, (112, 400)).astype(np.float32)
        made[:112] = np.clip(cv2.GaussianBlur(rough, (0, 0), 3) * 1, 0, 255)
        out.append(made)
    return out


def held(pictures: Sequence[Luma], earlier: Luma) -> tuple[Held, ...] | None:
    return aims([packed(directions(one)) for one in pictures], directions(earlier))


def test_shift_and_turn_are_those_put_in() -> None:
    seen = staying([packed(directions(view(24, -16, 4.0)))])
    found = best_match(matches(seen, spectra(directions(view()))))
    assert found.times > 2
    assert abs(found.aim.right - 6.0) < 0.5  # 24 of 400 pixels
    assert abs(found.aim.down + 4.0) < 0.5
    assert abs(found.aim.turn - 4.0) <= 1.0


def test_a_shift_is_the_one_that_the_reference_library_finds() -> None:
    # scikit-image's phase_cross_correlation, on luma instead of directions of edges.
    here, there = view(), view(20, -12)
    rows, columns = phase_cross_correlation(there, here)[0]
    found = best_match(matches(directions(there), spectra(directions(here)))).aim
    assert found.right == pytest.approx(100 * columns / 400, abs=0.5)
    assert found.down == pytest.approx(100 * rows / 400, abs=0.5)


def test_light_on_dark_counts_as_dark_on_light() -> None:
    seen = staying([packed(directions(np.asarray(255 - view(20, 0), np.uint8)))])
    found = best_match(matches(seen, spectra(directions(view()))))
    assert abs(found.aim.right - 5.0) < 0.5


def test_a_byte_keeps_direction_and_strength() -> None:
    field = directions(view())
    kept = CODES[packed(field)]
    # 32 angles of twice the direction and 7 steps: half a step is 5.6 degrees and 1/14.
    assert float(np.abs(np.abs(kept) - np.abs(field)).max()) < 0.0715
    strong = np.abs(field) > 0.5
    apart = np.angle(kept[strong] * np.conj(field[strong]))
    assert float(np.degrees(np.abs(apart)).max()) < 5.7


def test_the_fast_way_to_directions_packs_the_same() -> None:
    slow, fast = (CODES[one] for one in (packed(directions(view())), packed_directions(view())))
    # Where a value lies half way between two codes, they may round differently.
    assert float((np.abs(slow - fast) > 1e-6).mean()) < 0.01
    assert float(np.abs(slow - fast).max()) < 0.35


def test_aims_one_after_the_other_add_up() -> None:
    # A quarter turn clockwise takes what lies to the right to below: plane geometry.
    both = Aim(10.0, 0.0, 0.0).then(Aim(1.0, 2.0, 90.0))
    assert (both.right, both.down, both.turn) == pytest.approx((1.0, 12.0, 90.0))


def test_when_the_aim_moved_is_told() -> None:
    found = held(passing([view()] * 6 + [view(32, 12, -3.0)] * 6), view())
    assert found is not None
    assert len(found) == 2
    assert abs(found[1].first - 6) <= 1  # one picture is how exact a span is
    assert found[0].kept
    assert found[1].aim is not None
    assert abs(found[1].aim.right - 8.0) < 0.7


@pytest.mark.parametrize(
    "moved", [Aim(7.0, -3.0, 2.0), Aim(-6.0, -5.0, -4.0), Aim(-3.0, -9.0, 0.0)]
)
def test_parts_that_are_a_tenth_of_the_edges_tell_the_aim(moved: Aim) -> None:
    found = held(driving([KEPT] * 5 + [moved] * 6 + [KEPT] * 4), before())
    assert found is not None
    assert [one.kept for one in found] == [True, False, True]
    assert abs(found[1].first - 5) <= 1
    assert abs(found[1].last - 10) <= 1
    assert found[1].aim is not None
    assert found[1].aim.near(moved, 1.5, 2.1)


def test_a_view_moved_all_the_time_is_told() -> None:
    found = held(driving([Aim(6.0, -7.0, 0.0)] * 12), before())
    assert found is not None
    assert [one.kept for one in found] == [False]
    assert found[0].aim is not None
    assert found[0].aim.near(Aim(6.0, -7.0, 0.0), 1.5, 2.1)


def test_edges_that_an_earlier_picture_has_by_chance_are_no_sign_that_the_aim_was_kept() -> None:
    """The earlier picture is full of edges all over, and half of the parts is hidden in it; the
    recording begins at the same place."""
    earlier = passing(driving([KEPT]))[0]
    found = held(driving([Aim(6.0, -7.0, 0.0)] * 12), earlier)
    assert found is None or not any(one.kept for one in found)


def test_parts_that_are_gone_are_told_from_when_to_when() -> None:
    found = held(driving([KEPT] * 6 + [None] * 6), before())
    assert found is not None
    assert [(one.first, one.last) for one in found] == [(0, 5), (6, 11)]
    assert found[0].in_place > 0.6
    assert found[1].aim is None
    assert found[1].in_place < 0.3


def test_a_scene_alone_is_not_taken_for_parts_of_the_vehicle() -> None:
    assert held(driving([None] * 12), before()) is None


def test_a_picture_does_not_vouch_for_itself() -> None:
    """Three pictures of nothing but chance, of which parts are made: 0.5 and more of the edges
    would be in place if each were judged by what it took part in."""
    random = np.random.default_rng(11)
    rough = [
        cv2.GaussianBlur(random.normal(110, 90, (225, 400)).astype(np.float32), (0, 0), 2)
        for _ in range(4)
    ]
    fields = [packed(directions(np.clip(one, 0, 255).astype(np.uint8))) for one in rough]
    earlier = softened(CODES[fields[3]])
    told = each_in_place(fields[:3], np.ones(3, np.bool_), earlier)
    assert told is None or float(np.median(told[1])) < 0.3


def test_what_has_nothing_in_common_is_not_matched() -> None:
    random = np.random.default_rng(8)
    rough = [
        cv2.GaussianBlur(random.normal(110, 90, (225, 400)).astype(np.float32), (0, 0), 2)
        for _ in range(6)
    ]
    pictures = [np.clip(one, 0, 255).astype(np.uint8) for one in rough]
    assert held(pictures, view()) is None
    assert held(pictures[:2], view()) is None  # too few


def test_a_standing_scene_may_have_kept_its_aim_but_is_never_said_to_have_moved() -> None:
    kept = held([view()] * 6, view())
    assert kept is not None
    assert [(one.first, one.last) for one in kept] == [(0, 5)]
    assert kept[0].kept
    # Surroundings that stay with the vehicle match by chance: common practice, no source.
    assert held([view(24, -16)] * 6, view()) is None
