"""Other settings tried on the counts, and the way of the counts to a page and back."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.jobs.drive_kit import asked

from asfound.demo.drives import VAN, Conditions, drive
from asfound.errors import UsageError
from asfound.jobs.judge_triggers import a_day, outcome
from asfound.jobs.try_triggers import (
    AllTried,
    Counted,
    TryGrid,
    ask_try,
    first_try,
    grid_of,
    packed,
    tried,
    unpacked,
)
from asfound.jobs.tune_triggers import Tuned, TuneTriggers, tune_triggers
from asfound.model.trigger import Direction
from asfound.ports.backends.sweep_numba import sweeps

SMALL = TryGrid(
    (0.1, 0.2, 0.4),
    (0.1, 0.5),
    5.0,
    10.0,
    3.0,
    2,
    (
        Counted(Direction.LEVEL, ((9, 4), (3, 1), (1, 0)), ((3, 2), (1, 0))),
        Counted(Direction.UPRIGHT, ((7, 2), (2, 0), (0, 0)), ((0, 0), (2, 0))),
    ),
)


@pytest.fixture(scope="module")
def tuned() -> Tuned:
    logs = tuple(
        asked(f"{n}", drive(64400 + n, 8.5, VAN, Conditions(harsh_an_hour=22))) for n in range(3)
    )
    return tune_triggers(TuneTriggers(logs, None, 10.0), sweeps=sweeps())


def test_by_hand() -> None:
    made = tried(SMALL, [(True, 2, 0), (True, 2, 0)])
    # 3 + 2 events in 5 h, 10 h a day: 10 a day; the first label by one, the second by the other.
    assert made.a_day == a_day(5, 5.0, 10.0) and made.a_day[1] == 10
    assert made.caught == 2 and [each.caught for each in made.each] == [1, 1]
    alone = tried(SMALL, [(True, 2, 0), (False, 2, 0)])
    assert alone.a_day[1] == 6 and alone.caught == 1 and alone.each[1].a_day == 4


def test_the_recommended_ones_first(tuned: Tuned) -> None:
    grid = grid_of(tuned)
    first = first_try(grid, tuned.triggers)
    whole = outcome(tuned.picks, tuned.tallies)
    assert first.caught == whole.caught == tuned.whole.caught
    assert first.a_day == a_day(whole.outside, whole.hours, 10.0)
    assert [each.on for each in first.each] == [
        each.direction in {trigger.direction for trigger in tuned.triggers} for each in first.each
    ]


def test_what_is_typed() -> None:
    made = ask_try(SMALL, {"on-level": "on", "g-level": "0.26", "s-level": "0.5", "g-upright": "9"})
    assert [(each.on, each.level, each.d) for each in made.each] == [(True, 2, 1), (False, 3, 0)]
    for fields, said in (({"g-level": "much"}, "threshold, level"), ({"s-level": "7"}, "duration")):
        with pytest.raises(UsageError, match=said):
            ask_try(SMALL, fields)


def test_there_and_back(tuned: Tuned) -> None:
    assert unpacked(packed(SMALL)) == SMALL
    grid = grid_of(tuned)
    assert unpacked(packed(grid)) == grid


@given(st.sampled_from(list(json.loads(packed(SMALL)))), st.data())
def test_what_comes_back_broken_is_told(name: str, data: st.DataObject) -> None:
    broken = json.loads(packed(SMALL))
    anything = st.recursive(
        st.none() | st.booleans() | st.integers(-3, 3) | st.floats() | st.text(max_size=3),
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner),
        max_leaves=6,
    )
    broken[name] = data.draw(anything)
    try:
        grid = unpacked(json.dumps(broken))
    except UsageError as error:
        assert "came back broken" in str(error)
    else:
        made: AllTried = tried(grid, [(True, 1, 0) for _ in grid.counted])
        assert made.caught <= grid.labels


@pytest.mark.parametrize("text", ["", "{}", "[", "[1]", "null", "[" * 5000])
def test_no_grid(text: str) -> None:
    with pytest.raises(UsageError, match="came back broken"):
        unpacked(text)
