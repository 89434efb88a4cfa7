"""How a burned-in clock goes. What is true is what the readings were made from here; truncation to
whole seconds is what such clocks show (common practice, no source)."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import floor

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.overlay_clock import Sight, course, near
from asfound.model.burned_clock import DAY_S, ClockState

SECONDS = (0.4, 2.6, 5.8, 8.6, 11.6, 14.2, 17.2, 19.4)


def sights(clock: Callable[[float], float], seconds: Sequence[float] = SECONDS) -> list[Sight]:
    return [Sight(second, (floor(clock(second)) % 86_400,)) for second in seconds]


@given(st.floats(0, 86_399), st.integers(0, 7), st.integers(1, 80_000))
def test_a_running_clock_with_one_wrong_reading(start: float, wrong: int, by: int) -> None:
    seen = sights(lambda second: start + second)
    seen[wrong] = Sight(seen[wrong].second, ((seen[wrong].readings[0] + by + 5) % 86_400,))
    found = course(seen, 1.0)
    assert found is not None and found.state is ClockState.RUNS
    assert near(found.low, start) - 0.35 <= start <= near(found.high, start) + 0.35
    assert found.high - found.low <= 1.0
    assert wrong not in found.agree and len(found.agree) == 7


def test_over_midnight() -> None:
    found = course(sights(lambda second: DAY_S - 9.5 + second), 1.0)
    assert found is not None and found.state is ClockState.RUNS and len(found.agree) == 8
    assert near((found.low + found.high) / 2, 0) == pytest.approx(-9.5, abs=0.5)


def test_a_standing_clock() -> None:
    found = course(sights(lambda second: 3600.5), 1.0)
    assert found is not None
    assert (found.state, found.low, found.rate) == (ClockState.STANDS, 3600, 0.0)


@pytest.mark.parametrize(
    ("clock", "state", "split"),
    [
        (lambda s: 100.2 + s + (3600 if s > 10 else 0), ClockState.JUMPS, 4),
        (lambda s: 100.2 + s - (20 if s > 7 else 0), ClockState.JUMPS, 3),
        (lambda s: 100.2 + min(s, 9.0), ClockState.STOPS, 4),
        (lambda s: 100.2 + max(s, 9.0), ClockState.STARTS, 3),
    ],
)
def test_a_clock_in_two_pieces(
    clock: Callable[[float], float], state: ClockState, split: int
) -> None:
    found = course(sights(clock), 1.0)
    assert found is not None and found.state is state and found.split in (split, split + 1)


def test_a_clock_at_another_rate() -> None:
    found = course(sights(lambda second: 100.3 + 4 * second), 1.0)
    assert found is not None and found.state is ClockState.OTHER_RATE
    assert found.rate == pytest.approx(4.0, abs=0.1)


def test_too_few_or_no_agreement() -> None:
    assert course(sights(lambda second: 5 + second, (0.0, 4.0)), 1.0) is None
    assert course([], 1.0) is None
    wild = [Sight(float(n), (value,)) for n, value in enumerate((5, 9_000, 70_000, 33, 41_000))]
    assert course(wild, 1.0) is None
    # Too short to tell a standing clock from one that shows no seconds.
    assert course(sights(lambda second: 60.0, (0.0, 1.0, 2.0)), 60.0) is not None
    assert course(sights(lambda second: 60.0, (0.0, 0.5, 1.9)), 1.0) is None


def test_either_recogniser_may_be_right() -> None:
    seen = [Sight(s.second, (7, *s.readings)) for s in sights(lambda second: 50_000.2 + second)]
    found = course(seen, 1.0)
    assert found is not None and found.state is ClockState.RUNS
