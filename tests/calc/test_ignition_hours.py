"""Hours a day from ignition times: by the clock, by hand."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.ignition_hours import recorded_hours

CLOCK = st.floats(0, 24, allow_nan=False)
SPANS = st.lists(st.tuples(CLOCK, CLOCK), min_size=1, max_size=5)


@pytest.mark.parametrize(
    ("spans", "run_on", "hours"),
    [
        ([(5.5, 13.0), (15.0, 23.5)], 0.0, 16.0),
        ([(5.5, 13.0), (15.0, 23.5)], 0.5, 17.0),
        # The run-on of the first lasts until the second: 5:30 to 13:30 without a gap.
        ([(5.5, 9.0), (9.25, 13.0)], 0.5, 8.0),
        # Over midnight: 22:00 to 02:00.
        ([(22.0, 2.0)], 0.0, 4.0),
        ([(22.0, 2.0)], 1.0, 5.0),
        ([(1.0, 3.0), (22.0, 2.0)], 0.0, 5.0),
        ([(0.0, 24.0)], 0.0, 24.0),
        ([(6.0, 6.0)], 0.0, 24.0),
        ([(6.0, 20.0)], 24.0, 24.0),
    ],
)
def test_by_hand(spans: list[tuple[float, float]], run_on: float, hours: float) -> None:
    assert recorded_hours(spans, run_on) == pytest.approx(hours)


@given(SPANS, st.floats(0, 24), st.floats(0, 12))
def test_never_more_than_a_day_and_never_less_with_more_run_on(
    spans: list[tuple[float, float]], run_on: float, more: float
) -> None:
    hours = recorded_hours(spans, run_on)
    assert 0 <= hours <= 24
    assert recorded_hours(spans, run_on + more) >= hours - 1e-9


MINUTES = st.integers(0, 24 * 60 - 1)


@given(st.lists(st.tuples(MINUTES, MINUTES), min_size=1, max_size=5), MINUTES)
def test_the_clock_may_begin_anywhere(spans: list[tuple[int, int]], shift: int) -> None:
    here = [(begin / 60, end / 60) for begin, end in spans]
    moved = [((begin + shift) % 1440 / 60, (end + shift) % 1440 / 60) for begin, end in spans]
    assert recorded_hours(moved) == pytest.approx(recorded_hours(here), abs=1e-6)
