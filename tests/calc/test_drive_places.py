"""Where sectors of a run lie, against a plain look-up byte by byte."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.drive_blocks import SECTOR
from asfound.calc.drive_places import Extent, blind_share, places_of
from asfound.calc.drive_plan import Sizes, plan_test


def test_extents_of_several_files() -> None:
    # Two files: the first in two parts, told out of order; the second begins at sector 5.
    files = [
        (0, [Extent(2 * SECTOR, 90 * SECTOR, 2 * SECTOR), Extent(0, 40 * SECTOR, 2 * SECTOR)]),
        (5 * SECTOR, [Extent(0, 7 * SECTOR, SECTOR)]),
    ]
    told = places_of(files).of(np.arange(7))
    assert told.tolist() == [40, 41, 90, 91, -1, 7, -1]


def test_what_is_not_told() -> None:
    assert places_of(()).of(np.arange(3)).tolist() == [-1, -1, -1]
    odd = [(0, [Extent(0, 512, SECTOR), Extent(100, SECTOR, SECTOR), Extent(SECTOR, 0, 700)])]
    assert places_of(odd).of(np.arange(3)).tolist() == [-1, -1, -1]


@given(st.lists(st.integers(0, 60), min_size=2, max_size=8, unique=True), st.integers(1, 4))
def test_what_samples_miss_is_what_no_two_of_them_show(starts: list[int], piece: int) -> None:
    # Played through: each false size, each two pieces, whether their sectors meet.
    def shown(size: int) -> bool:
        sectors = [set(range(at, at + piece)) for at in starts]
        return any({at + size for at in one} & two for one in sectors for two in sectors)

    sizes = range(piece, max(starts) - min(starts) + 1)
    missed = sum(not shown(size) for size in sizes)
    share = blind_share(np.array(starts), piece)
    assert share * max(len(sizes) - 1, 1) == pytest.approx(missed, abs=1e-6)


def test_the_usual_samples_miss_nothing() -> None:
    sizes = Sizes()
    plan = plan_test(int(64e9), sizes, sampled=True)
    starts = np.array([piece * sizes.sectors for file in plan for piece in file.pieces])
    assert blind_share(starts, sizes.sectors) == 0
    assert blind_share(np.array([5]), 4) == 1


@given(st.lists(st.tuples(st.integers(1, 5), st.integers(0, 3), st.integers(0, 1000)), max_size=8))
def test_any_extents(parts: list[tuple[int, int, int]]) -> None:
    wanted, extents, at = [], [], 0
    for length, gap, place in parts:
        extents.append(Extent(at * SECTOR, place * SECTOR, length * SECTOR))
        wanted += [*range(place, place + length), *[-1] * gap]
        at += length + gap
    assert places_of([(0, extents)]).of(np.arange(len(wanted))).tolist() == wanted
