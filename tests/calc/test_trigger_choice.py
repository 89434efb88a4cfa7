"""Which settings are chosen: worked small cases, and properties of any."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.event_rates import rate_below
from asfound.calc.trigger_choice import caught_by, choose, events_of, nearest
from asfound.calc.trigger_grid import Settings, Tally
from asfound.model.trigger import Direction

SETTINGS = Settings((0.1, 0.2, 0.3, 0.4), (0.1, 0.4))


def tally(outside: list[int], best: list[int], hours: float = 10.0) -> Tally:
    """As many events at both durations; all events are outside."""
    grid = np.repeat(np.array(outside, np.int64)[:, None], 2, axis=1)
    return Tally(grid, grid, np.repeat(np.array(best, np.int64)[:, None], 2, axis=1), hours)


def test_without_labels_the_lowest_that_surely_keeps_the_budget() -> None:
    tallies = {
        Direction.FORWARD: tally([500, 20, 3, 0], [], 100.0),
        Direction.SIDEWAYS: tally([500, 20, 3, 0], [], 100.0),
    }
    # 0.2 an hour, half of it each: 3 events in 100 h are below 0.0775 / h, 20 below 0.29 / h.
    picks = choose(tallies, SETTINGS, 0.2)
    assert [(pick.level, pick.d) for pick in picks] == [(3, 1), (3, 1)]
    assert rate_below(3, 100.0) < 0.1 < rate_below(20, 100.0)
    # So small a budget cannot be shown: what was counted decides.
    assert [pick.level for pick in choose(tallies, SETTINGS, 1e-3)] == [4, 4]
    with pytest.raises(ValueError, match="neither labels nor a budget"):
        choose(tallies, SETTINGS, None)


def test_with_labels_the_middle_of_what_is_as_good() -> None:
    # All 20 labels are caught up to 0.3 g; below, there are many more events.
    tallies = {Direction.LEVEL: tally([900, 0, 0, 0], [3] * 20)}
    picks = choose(tallies, SETTINGS, None)
    assert [(pick.direction, pick.level, pick.d) for pick in picks] == [(Direction.LEVEL, 2, 1)]
    assert caught_by(picks, tallies).all() and events_of(picks, tallies, outside=True) == 0


def test_upright_only_where_it_helps() -> None:
    level = tally([0, 0, 0, 0], [4] * 10 + [0] * 10)
    helps = {Direction.LEVEL: level, Direction.UPRIGHT: tally([300, 2, 0, 0], [0] * 10 + [2] * 10)}
    assert [pick.direction for pick in choose(helps, SETTINGS, None)] == list(helps)
    costs = helps | {Direction.UPRIGHT: tally([300, 200, 90, 50], [0] * 10 + [2] * 10)}
    assert [pick.direction for pick in choose(costs, SETTINGS, None)] == [Direction.LEVEL]


@given(st.data())
def test_a_budget_is_kept_whatever_the_counts(data: st.DataObject) -> None:
    falling = st.lists(st.integers(0, 60), min_size=4, max_size=4).map(
        lambda counts: sorted(counts, reverse=True)
    )
    labels = data.draw(st.integers(0, 12))
    best = st.lists(st.integers(0, 4), min_size=labels, max_size=labels)
    tallies = {
        each: tally(data.draw(falling), data.draw(best))
        for each in (Direction.FORWARD, Direction.SIDEWAYS, Direction.UPRIGHT)
    }
    budget = data.draw(st.floats(0.01, 10))
    picks = choose(tallies, SETTINGS, budget)
    assert events_of(picks, tallies, outside=True) <= budget * 10.0 + 1e-9
    assert len({pick.direction for pick in picks}) == len(picks)


def test_a_budget_is_surely_kept_where_the_hours_can_show_it() -> None:
    # 100 h, 0.2 an hour: up to 12 events surely keep it (chi2(0.95, 26) / 2 = 19.4; 13 do not).
    tallies = {Direction.LEVEL: tally([40, 19, 12, 0], [4] * 2 + [3] * 8 + [2] * 20, 100.0)}
    # 0.1 g: 30 caught, 40 false; 0.2 g: 30 and 19; 0.3 g: 10 and 12.
    assert rate_below(12, 100.0) <= 0.2 < rate_below(13, 100.0)
    assert [pick.level for pick in choose(tallies, SETTINGS, 0.2)] == [3]
    assert [pick.level for pick in choose(tallies, SETTINGS, None)] == [2]


def test_durations() -> None:
    assert nearest(0.38, SETTINGS) == 1 and nearest(0.0, SETTINGS) == 0
