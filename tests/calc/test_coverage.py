"""Stretches of time as sets, held against sets of whole minutes (plain brute force)."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.coverage import Spans, held_of, overlap, total, union, without
from asfound.calc.strip import Span

MINUTES = 90

span = st.tuples(st.integers(0, MINUTES), st.integers(0, MINUTES)).map(
    lambda pair: Span(float(pair[0]), float(pair[1]))
)
spans = st.lists(span, max_size=9)


def minutes(stretches: Sequence[Span]) -> set[int]:
    """The independent check: every whole minute that a stretch holds, one by one."""
    return {m for m in range(MINUTES) if any(s.start <= m < s.end for s in stretches)}


def is_clean(stretches: Spans) -> bool:
    lengths = all(s.start < s.end for s in stretches)
    return lengths and all(a.end < b.start for a, b in pairwise(stretches))


@given(spans)
def test_union_holds_the_same_minutes_in_order(some: list[Span]) -> None:
    made = union(some)
    assert minutes(made) == minutes(some)
    assert is_clean(made)
    assert union(made) == made


@given(spans, spans)
def test_overlap_and_difference_are_those_of_sets(one: list[Span], other: list[Span]) -> None:
    both, rest = overlap(one, other), without(one, other)
    assert minutes(both) == minutes(one) & minutes(other)
    assert minutes(rest) == minutes(one) - minutes(other)
    assert is_clean(both) and is_clean(rest)
    assert overlap(other, one) == both
    assert union((*both, *rest)) == union(one), "the two parts make the whole again"


@given(spans)
def test_total_is_the_number_of_minutes(some: list[Span]) -> None:
    assert total(some) == len(minutes(some))


@given(spans, spans, st.integers(0, 12))
def test_held_of_counts_minutes(expected: list[Span], disk: list[Span], allow: int) -> None:
    made = held_of(expected, disk, allow)
    wanted, kept = minutes(expected), minutes(expected) & minutes(disk)
    assert (made.expected, made.held) == (len(wanted), len(kept))
    assert minutes(made.holes) == wanted - kept
    assert made.whole_since == brute_since(wanted, kept, allow)


def brute_since(wanted: set[int], kept: set[int], allow: int) -> float | None:
    """Walks back minute by minute from the last expected one."""
    since: int | None = None
    hole = 0
    for minute in reversed(range(MINUTES)):
        hole = hole + 1 if minute in wanted - kept else 0
        if hole > allow:
            # The hole's end is where the whole stretch may begin: at the first wanted minute.
            later = [m for m in wanted if m >= minute + hole]
            return float(min(later)) if later else None
        if minute in wanted:
            since = minute
    return None if since is None else float(since)


def test_a_hole_splits_and_neighbours_join() -> None:
    assert union([Span(0, 5), Span(5, 9), Span(20, 30)]) == (Span(0, 9), Span(20, 30))
    assert without([Span(0, 30)], [Span(9, 20)]) == (Span(0, 9), Span(20, 30))
    assert held_of([Span(0, 30)], [Span(0, 9), Span(10, 30)], 5).whole_since == 0
    assert held_of([Span(0, 30)], [Span(0, 9), Span(20, 30)], 5).whole_since == 20
    assert held_of([], [Span(0, 9)], 5).whole_since is None
