"""Changes of scene by sizes, on made-up sizes; real coding in tests/jobs/test_prove_stages.py."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from asfound.calc.scene_edges import RETURNS, change_by_sizes, starts_anew, stays

RATE = 25.0
KEY = 20_000


def times(count: int, start: float = 6.0) -> NDArray[np.float64]:
    return start + np.arange(count) / RATE


@given(st.integers(3, 43), st.lists(st.integers(1700, 19_000), min_size=50, max_size=50), st.data())
def test_the_picture_at_which_a_scene_turns_even_is_found(
    at: int, scene: list[int], data: st.DataObject
) -> None:
    even = data.draw(st.lists(st.integers(30, 1500), min_size=50, max_size=50))
    sizes = np.array([KEY, *scene[:at], *even[: 49 - at]])
    assert change_by_sizes(times(50), sizes, KEY, True) == pytest.approx(6 + (at + 1) / RATE)
    turned = np.array([900, *even[:at], *scene[: 49 - at]])
    assert change_by_sizes(times(50), turned, KEY, False) == pytest.approx(6 + (at + 1) / RATE)


def test_pictures_are_ordered_as_they_are_shown() -> None:
    shown = times(50)
    order = [0, *(n for pair in zip(range(2, 50, 2), range(1, 49, 2), strict=True) for n in pair)]
    order.append(49)
    sizes = np.array([KEY] + [4000] * 24 + [40] * 25)
    assert change_by_sizes(shown[order], sizes[order], KEY, True) == pytest.approx(shown[25])


def test_of_a_scene_that_stands_still_one_large_picture_tells() -> None:
    sizes = np.array([KEY] + [52] * 20 + [1500, 160, 110] + [50] * 26)
    assert change_by_sizes(times(50), sizes, KEY, True) == pytest.approx(6 + 21 / RATE)
    sizes[40] = 300
    assert change_by_sizes(times(50), sizes, KEY, True) is None


@pytest.mark.parametrize(
    "sizes",
    [
        [KEY] + [52] * 49,  # nothing changes
        [KEY, 3000, 3000] + [52] * 47,  # too near the key picture
        [KEY] + [3000] * 48 + [52],  # ... or the end
        [KEY, 60, 3000, *[60] * 20, 3000, *[60] * 20, 3000, 60, 60, 60],  # a slow pulse
        [KEY, 3000, 3000, 60],
    ],
)
def test_where_sizes_do_not_tell_nothing_is_said(sizes: list[int]) -> None:
    assert change_by_sizes(times(len(sizes)), np.array(sizes), KEY, True) is None


@given(st.lists(st.integers(1, 100_000), min_size=1, max_size=60), st.integers(0, 200_000))
def test_it_stays_even_only_while_every_picture_is_too_small_for_a_scene(
    sizes: list[int], scene: int
) -> None:
    found = stays(np.array([5000, *sizes]), scene)
    assert found == all(size < RETURNS * scene for size in sizes)
    assert not stays(np.array([5000]), scene)


def test_a_period_counted_from_an_unmarked_key_picture_explains_a_late_one() -> None:
    sizes = np.array([9000] + [100] * 19 + [52_000] + [3000] * 49)
    assert starts_anew(times(70), sizes, 6 + 70 / RATE, 2.0)
    assert not starts_anew(times(70), np.array([9000] + [3000] * 69), 6 + 70 / RATE, 2.0)
    assert not starts_anew(times(1), np.array([9000]), 6 + 1 / RATE, 2.0)
