"""How large a drive really is: against drives that are played through, sector by sector."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.drive_blocks import SECTOR, Came
from asfound.calc.drive_capacity import Back, counts_round_at, forgets_from, spans
from asfound.calc.drive_places import Extent, places_of

UNTOLD = places_of(())


def played(real: int, run: int) -> Back:
    """A drive of ``real`` sectors that counts round, after a run over ``run``: last one written
    stays."""
    memory: dict[int, int] = {}
    for number in range(run):
        memory[number % real] = number
    sources = np.array([memory[number % real] for number in range(run)])
    return told(np.where(sources == np.arange(run), Came.GOOD, Came.ELSEWHERE), sources)


def told(came: np.ndarray, sources: np.ndarray | None = None) -> Back:
    numbers = np.arange(len(came))
    bad = np.flatnonzero(came != Came.GOOD)
    from_where = numbers if sources is None else sources
    return Back(numbers, 1, numbers[bad], came[bad].astype(np.int8), from_where[bad])


@given(st.integers(1, 60), st.integers(1, 300))
def test_a_drive_that_counts_round(real: int, more: int) -> None:
    back = played(real, real + more)
    assert counts_round_at(back, UNTOLD, sampled=False) == real * SECTOR
    apart = counts_round_at(back, UNTOLD, sampled=True)
    assert apart is not None and apart % (real * SECTOR) == 0
    assert forgets_from(back, UNTOLD) is None
    assert counts_round_at(played(real, real), UNTOLD, sampled=False) is None


@given(st.integers(0, 300), st.integers(6, 300), st.sets(st.integers(0, 20), max_size=2))
def test_a_drive_that_forgets(kept: int, gone: int, right_by_chance: set[int]) -> None:
    came = np.full(kept + gone, Came.BLANK)
    came[:kept] = Came.GOOD
    if gone > 60:
        came[[kept + 1 + at for at in right_by_chance]] = Came.GOOD
    end = forgets_from(told(came), UNTOLD)
    assert end is not None and (end.number, end.place) == (kept, None)
    assert end.share == pytest.approx(gone / (kept + gone))


def test_damage_is_no_end() -> None:
    came = np.full(1000, Came.GOOD)
    came[[3, 500, 501]] = Came.OTHER
    assert forgets_from(told(came), UNTOLD) is None
    assert forgets_from(told(np.full(9, Came.GOOD)), UNTOLD) is None
    came[999] = Came.OTHER
    end = forgets_from(told(came), UNTOLD)
    assert end is not None and end.share == 0.001, "too little to be an end"


@given(st.permutations(range(12)), st.integers(1, 11))
def test_places_tell_the_end_whatever_the_order(order: list[int], kept: int) -> None:
    # 12 files of 8 sectors, in any order on the drive; what lies from slot ``kept`` on is gone.
    slots = np.repeat(np.array(order), 8)
    came = np.where(slots >= kept, Came.BLANK, Came.GOOD)
    files = [
        (number * 8 * SECTOR, [Extent(0, slot * 8 * SECTOR, 8 * SECTOR)])
        for number, slot in enumerate(order)
    ]
    end = forgets_from(told(came), places_of(files))
    assert end is not None and end.place == kept * 8 * SECTOR
    assert slots[end.number] == kept


def test_places_tell_how_far_apart() -> None:
    # Sectors 0 and 1 came back with the content of 4 and 5, which lie 30 sectors behind them.
    came = np.full(6, Came.GOOD)
    came[:2] = Came.ELSEWHERE
    back = told(came, np.array([4, 5, 2, 3, 4, 5]))
    files = [
        (0, [Extent(0, 70 * SECTOR, 4 * SECTOR)]),
        (4 * SECTOR, [Extent(0, 100 * SECTOR, 2 * SECTOR)]),
    ]
    assert counts_round_at(back, places_of(files), sampled=False) == 30 * SECTOR


def test_spans_join_neighbours_of_a_kind() -> None:
    came = np.full(10, Came.GOOD)
    came[[1, 2]], came[3], came[7] = Came.BLANK, Came.BITS, Came.BITS
    assert spans(told(came)) == [
        (SECTOR, 2 * SECTOR, Came.BLANK),
        (3 * SECTOR, SECTOR, Came.BITS),
        (7 * SECTOR, SECTOR, Came.BITS),
    ]
    assert spans(told(np.full(4, Came.GOOD))) == []
