"""Ways between rows and pages, worked out by hand on small menus."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.key_minutes import keying_seconds
from asfound.calc.key_paths import MenuGraph, row_moves, shortest
from asfound.calc.key_values import Presses
from asfound.model.menu_map import Keys

FLAT = Keys("flat", "U", "D", "L", "R", "OK", "B", "-", "+", "N", "P")
LEVELS = Keys("two-level", "U", "D", "L", "R", "OK", "B", "-", "+")


@given(st.data(), st.integers(1, 12), st.booleans())
def test_rows_are_reached_the_shorter_way(data: st.DataObject, count: int, wrap: bool) -> None:
    start = data.draw(st.integers(0, count - 1))
    end = data.draw(st.integers(0, count - 1))
    presses = row_moves(count, start, end, wrap)
    at = start
    for name, times in presses:
        for _ in range(times):
            at += 1 if name == "down" else -1
            at = at % count if wrap else max(0, min(at, count - 1))
    assert at == end
    round_way = min((end - start) % count, (start - end) % count)
    assert sum(t for _, t in presses) == (round_way if wrap else abs(end - start))


@pytest.mark.parametrize(
    ("wrap", "start", "end", "expected"),
    [
        (False, 0, 3, (("next_page", 3),)),
        (True, 0, 4, (("previous_page", 1),)),
        (False, 4, 1, (("previous_page", 3),)),
        (True, 2, 2, ()),
    ],
)
def test_flat_menus(wrap: bool, start: int, end: int, expected: Presses) -> None:
    graph = MenuGraph(replace(FLAT, page_wrap=wrap), [None] * 5)
    assert graph.way(graph.page(start), graph.page(end)) == expected


GROUPS = ["A", "A", "B", "B", "B", "C"]


@pytest.mark.parametrize(
    ("start", "end", "expected"),
    [
        (None, 0, (("ok", 2),)),
        (None, 3, (("down", 1), ("ok", 1), ("down", 1), ("ok", 1))),
        (2, 4, (("back", 1), ("down", 2), ("ok", 1))),
        (3, 5, (("back", 2), ("down", 1), ("ok", 2))),
    ],
)
def test_two_level_menus(start: int | None, end: int, expected: Presses) -> None:
    graph = MenuGraph(LEVELS, GROUPS)
    place = graph.opening() if start is None else graph.page(start)
    assert graph.way(place, graph.page(end)) == expected


def test_opening_a_long_list_anew_can_be_the_shorter_way() -> None:
    """20 pages in a ring, from the 6th to the 19th: 7 back round the end, or 2 from the top."""
    graph = MenuGraph(replace(LEVELS, row_wrap=True), ["A"] * 20)
    way = graph.way(graph.left(5), graph.page(18))
    assert way == (("back", 1), ("ok", 1), ("up", 2), ("ok", 1))


def test_no_way_is_an_error() -> None:
    with pytest.raises(ValueError, match="no keys lead"):
        shortest(0, 1, lambda _: iter(()))


def test_seconds_follow_the_keystroke_level_model() -> None:
    """M = 1.35 s, K = 0.50 s (random letters) and 0.28 s (average non-secretary typist): table of
    operators in Card, Moran and Newell 1980, as printed by asi-www.informatik.uni-hamburg.de
    (GOMS page, table 1)."""
    assert keying_seconds(2, 3, 10) == pytest.approx(2 * 1.35 + 3 * 0.50 + 7 * 0.28)
    assert keying_seconds(0, 0, 0) == 0.0
