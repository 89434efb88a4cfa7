"""How large a drive really is: against drives that are played through, sector by sector."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.drive_blocks import SECTOR, Came
from asfound.calc.drive_capacity import Back, counts_round_at, forgets_from, spans


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
    return Back(len(came), bad, numbers[bad], came[bad].astype(np.int8), from_where[bad])


@given(st.integers(1, 60), st.integers(1, 300))
def test_a_drive_that_counts_round(real: int, more: int) -> None:
    back = played(real, real + more)
    assert counts_round_at(back, sampled=False) == real * SECTOR
    apart = counts_round_at(back, sampled=True)
    assert apart is not None and apart % (real * SECTOR) == 0
    assert forgets_from(back, 0.01) is None
    assert counts_round_at(played(real, real), sampled=False) is None


@given(st.integers(0, 300), st.integers(6, 300), st.sets(st.integers(0, 20), max_size=2))
def test_a_drive_that_forgets(kept: int, gone: int, right_by_chance: set[int]) -> None:
    came = np.full(kept + gone, Came.BLANK)
    came[:kept] = Came.GOOD
    if gone > 60:
        came[[kept + 1 + at for at in right_by_chance]] = Came.GOOD
    assert forgets_from(told(came), 0.01) == kept * SECTOR


def test_damage_is_no_end() -> None:
    came = np.full(1000, Came.GOOD)
    came[[3, 500, 501, 999]] = Came.OTHER
    assert forgets_from(told(came), 0.01) is None
    assert forgets_from(told(np.full(9, Came.GOOD)), 0.01) is None


def test_spans_join_neighbours_of_a_kind() -> None:
    came = np.full(10, Came.GOOD)
    came[[1, 2]], came[3], came[7] = Came.BLANK, Came.BITS, Came.BITS
    assert spans(told(came)) == [
        (SECTOR, 2 * SECTOR, Came.BLANK),
        (3 * SECTOR, SECTOR, Came.BITS),
        (7 * SECTOR, SECTOR, Came.BITS),
    ]
    assert spans(told(np.full(4, Came.GOOD))) == []
