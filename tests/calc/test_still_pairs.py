"""Pairs of key pictures beside each other, on made-up figures. That new noise differs as much from
picture to picture, and that one picture coded better and better comes nearer to itself, is common
practice, no source."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.still_pairs import Piece, Tells, keys_tell, weigh


def pair(at: int, sizes: tuple[int, int], change: float, equal: float = 0.0) -> Piece:
    return Piece(at, at + 1, keys_tell(equal, *sizes), change, equal, sizes)


def told(*pieces: Piece, moves_on: bool = True) -> list[Tells]:
    row = list(pieces)
    weigh(row, moves_on)
    return [piece.tells for piece in row]


GROWING = ((20_000, 22_000), (22_000, 24_000), (24_000, 25_500))


def test_key_pictures_that_come_nearer_to_one_picture_are_stuck() -> None:
    changes, shares = (0.8, 0.7, 0.6), (0.0, 0.02, 0.06)
    row = [pair(at, GROWING[at], changes[at], shares[at]) for at in range(3)]
    assert told(*row) == [Tells.STUCK] * 3
    back = pair(3, (25_500, 20_000), 0.9)
    assert told(*row, back, moves_on=False)[:3] == [Tells.STUCK] * 3


def test_pictures_without_noise_come_nearer_for_good() -> None:
    changes, shares = (0.8, 0.7, 0.6), (0.0, 0.02, 0.06)
    row = [pair(at, GROWING[at], changes[at], shares[at]) for at in range(3)]
    assert Tells.STUCK not in told(*row, moves_on=False)
    assert Tells.STUCK not in told(*row, pair(3, (25_500, 25_400), 0.59, 0.3), moves_on=False)


@pytest.mark.parametrize(
    ("changes", "shares"),
    [
        ((0.8, 0.81, 0.8), (0.0, 0.02, 0.06)),  # new noise each time
        ((0.8, 0.7, 0.6), (0.0, 0.0, 0.0)),  # nothing of it the same: light that settles
        ((0.8, 0.79, 0.78), (0.0, 0.02, 0.06)),  # hardly less
    ],
)
def test_what_does_not_come_nearer_stays_open(
    changes: tuple[float, ...], shares: tuple[float, ...]
) -> None:
    row = [pair(at, GROWING[at], changes[at], shares[at]) for at in range(3)]
    assert Tells.STUCK not in told(*row)


def test_key_pictures_that_stay_as_large_do_not_come_nearer() -> None:
    row = [pair(0, (20_000, 20_700), 0.8, 0.02), pair(1, (20_700, 20_800), 0.6, 0.06)]
    assert told(*row)[0] is not Tells.STUCK


def test_coming_down_to_what_live_pairs_differ_by_is_life() -> None:
    row = [pair(0, (20_000, 24_000), 1.0, 0.0), pair(1, (24_000, 25_000), 0.8, 0.03)]
    assert told(*row) == [Tells.STUCK] * 2
    live = pair(2, (25_000, 25_050), 0.8, 0.03)
    assert Tells.STUCK not in told(*row, live)


def test_the_live_pair_of_the_nearest_size_is_the_measure() -> None:
    far, near = pair(0, (9_000, 9_010), 0.7), pair(1, (20_000, 20_020), 1.0)
    assert told(far, near, pair(2, (20_000, 21_500), 0.8, 0.01))[2] is Tells.STUCK
    assert told(far, near, pair(2, (20_000, 21_500), 0.97, 0.01))[2] is Tells.ALIVE
    assert told(far, near, pair(2, (20_000, 21_500), 0.9, 0.01))[2] is Tells.NOTHING


def test_a_pair_that_something_moved_between_is_no_measure() -> None:
    moved = pair(0, (22_000, 22_050), 4.0)
    still = [pair(at, (21_000, 21_020), 1.0) for at in (2, 3)]
    assert told(moved, pair(1, (22_050, 21_000), 1.02), *still)[1] is Tells.ALIVE


@given(st.lists(st.integers(5_000, 60_000), min_size=3, max_size=8), st.floats(0.3, 3.0), st.data())
def test_pairs_that_all_differ_alike_and_in_every_block_are_never_stuck(
    sizes: list[int], change: float, data: st.DataObject
) -> None:
    row = [
        pair(at, (sizes[at], sizes[at + 1]), change * data.draw(st.floats(0.97, 1.03)))
        for at in range(len(sizes) - 1)
    ]
    assert Tells.STUCK not in told(*row)
