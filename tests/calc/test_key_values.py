"""Fewest presses to change a value: against a search over single presses, and worked by hand."""

from __future__ import annotations

from collections import deque
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.key_values import Presses, change, part_presses, position, step_presses, steps_of
from asfound.model.kinds import (
    Choice,
    Date,
    FieldType,
    IPv4,
    Level,
    Number,
    Switch,
    Text,
    Time,
)
from asfound.model.menu_map import Keys

KEYS = Keys("flat", "U", "D", "L", "R", "OK", "B", "-", "+", "N", "P", "R", "L")


def searched(count: int, start: int, end: int, coarse: int, wrap: bool) -> int:
    """Fewest presses by breadth-first search, one press at a time."""
    far = {start: 0}
    queue = deque([start])
    while end not in far:
        at = queue.popleft()
        for jump in (1, -1, coarse, -coarse):
            there = at + jump
            there = there % count if wrap else max(0, min(there, count - 1))
            if there not in far:
                far[there] = far[at] + 1
                queue.append(there)
    return far[end]


def walked(presses: Presses, count: int, at: int, coarse: int, wrap: bool) -> int:
    jumps = {"plus": 1, "minus": -1, "plus_coarse": coarse, "minus_coarse": -coarse}
    for name, times in presses:
        for _ in range(times):
            at += jumps[name]
            at = at % count if wrap else max(0, min(at, count - 1))
    return at


@given(st.data(), st.integers(1, 60), st.integers(1, 20), st.booleans())
def test_steps_are_as_few_as_a_search_finds(
    data: st.DataObject, count: int, coarse: int, wrap: bool
) -> None:
    start = data.draw(st.integers(0, count - 1))
    end = data.draw(st.integers(0, count - 1))
    presses = step_presses(count, start, end, coarse, wrap)
    assert walked(presses, count, start, coarse, wrap) == end
    assert sum(times for _, times in presses) == searched(count, start, end, coarse, wrap)


def test_a_port_of_65535_steps_is_exact_too() -> None:
    presses = step_presses(65535, 79, 29999, 10, False)
    assert presses == (("plus_coarse", 2992),)
    assert step_presses(65535, 0, 65534, 10, True) == (("minus", 1),)


@pytest.mark.parametrize(
    ("forward", "expected"),
    [
        ([(1, 24), (0, 60)], (("plus", 1),)),
        ([(23, 24), (-15, 60)], (("minus", 1), ("next_part", 1), ("minus", 15))),
        ([(0, 10), (0, 10), (6, 10)], (("next_part", 2), ("minus", 4))),
        ([(0, 10)], ()),
    ],
)
def test_segments_go_the_shorter_way_round(
    forward: list[tuple[int, int]], expected: Presses
) -> None:
    assert part_presses(forward) == expected


HALF = Number(Decimal("0.5"), Decimal("2.5"), Decimal("0.5"), 1, "g", ("Off", "Auto"))


@pytest.mark.parametrize(
    ("kind", "values"),
    [
        (Choice(("x", "y", "z")), ["x", "y", "z"]),
        (Switch("Yes", "No"), ["off", "on"]),
        (Level(-1, 2), ["-1", "0", "1", "2"]),
        (HALF, ["Off", "Auto", "0.5", "1.0", "1.5", "2.0", "2.5"]),
    ],
)
def test_values_stand_in_the_recorders_order(kind: FieldType, values: list[str]) -> None:
    assert steps_of(kind) == len(values)
    assert [position(kind, value) for value in values] == list(range(len(values)))


def test_types_that_are_not_stepped_say_so() -> None:
    assert steps_of(Time()) is None
    with pytest.raises(ValueError, match="not stepped"):
        position(Time(), "10:00")
    assert change(KEYS, Text(), "a", "b") is None


OK = ("ok", 1)
DIGITS = replace(KEYS, segments="digits")
OPENED = replace(KEYS, edit="open", value_wrap=True)


@pytest.mark.parametrize(
    ("keys", "kind", "old", "new", "expected"),
    [
        (KEYS, Switch(), "on", "on", ()),
        (KEYS, Switch(), "on", "off", (("minus", 1),)),
        (OPENED, Choice(("a", "b", "c")), "a", "c", (OK, ("minus", 1), OK)),
        (KEYS, Time(), "23:59", "00:00", (OK, ("plus", 1), ("next_part", 1), ("plus", 1), OK)),
        # 23:59 -> 00:00 digit by digit: 2-0 two back, 3-0 three back, 5-0 five, 9-0 one on
        (
            DIGITS,
            Time(),
            "23:59",
            "00:00",
            (
                OK,
                ("minus", 2),
                ("next_part", 1),
                ("minus", 3),
                ("next_part", 1),
                ("plus", 5),
                ("next_part", 1),
                ("plus", 1),
                OK,
            ),
        ),
        # day 1 -> 31 is one back, year 2099 -> 2000 one on
        (
            KEYS,
            Date("DD/MM/YYYY"),
            "2099-05-01",
            "2000-05-31",
            (OK, ("minus", 1), ("next_part", 2), ("plus", 1), OK),
        ),
        (KEYS, Date(), "1999-01-01", "2000-01-01", None),
        (DIGITS, Date(), "1999-01-01", "2999-01-01", (OK, ("plus", 1), OK)),
        (KEYS, IPv4(), "0.0.0.0", "0.0.0.255", (OK, ("next_part", 3), ("minus", 1), OK)),
        (
            DIGITS,
            IPv4(padded=True),
            "10.0.0.1",
            "10.0.0.20",
            (OK, ("next_part", 10), ("plus", 2), ("next_part", 1), ("minus", 1), OK),
        ),
    ],
)
def test_changes_worked_out_by_hand(
    keys: Keys, kind: FieldType, old: str, new: str, expected: Presses | None
) -> None:
    assert change(keys, kind, old, new) == expected
