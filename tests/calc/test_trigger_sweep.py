"""Every setting in one pass is what plain loops over the definition say, whatever the blocks.

The definition, as the module has it: a trigger may fire at a sample when it and the samples before
it, as many as the duration takes, lie at or above the threshold without a gap; it fires at the
first such sample that is no less than the hold-off after the last firing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.mounting import GRAVITY_MS2
from asfound.calc.trigger_grid import Settings, Tally, caught, samples, spans_of, total
from asfound.calc.trigger_sweep import Floats
from asfound.ports.backends.sweep_numba import sweeps
from asfound.ports.sweeps import PlainSweeps, Sweeps

RATE = 10.0
SETTINGS = Settings((0.1, 0.2, 0.3, 0.5), (0.1, 0.2, 0.5), 0.7)


@dataclass(frozen=True)
class Log:
    """Stretches of samples (first number, values [g]) and marked spans."""

    stretches: tuple[tuple[int, tuple[float, ...]], ...]
    marked: tuple[tuple[int, int], ...]


@st.composite
def logs(draw: st.DrawFn) -> Log:
    at, stretches = 0, []
    for _ in range(draw(st.integers(1, 3))):
        at += draw(st.integers(1, 9))
        values = draw(
            st.lists(st.sampled_from([0, 0.05, 0.1, -0.15, 0.2, -0.3, 0.4, 0.5, -0.9]), max_size=40)
        )
        stretches.append((at, tuple(values)))
        at += len(values)
    spans = st.tuples(st.integers(-3, at), st.integers(0, 12))
    marked = sorted((first, first + length) for first, length in draw(st.lists(spans, max_size=4)))
    return Log(tuple(stretches), tuple(marked))


def swept(log: Log, size: int, machine: Sweeps, settings: Settings = SETTINGS) -> Tally:
    state, spans = settings.new_state(len(log.marked)), spans_of(log.marked)
    needs, hold, levels = settings.needs(RATE), settings.hold(RATE), settings.levels()
    count = 0
    for first, values in log.stretches:
        x: Floats = np.array(values, np.float64) * GRAVITY_MS2
        for at in range(0, len(x), size):
            machine.sweep(x[at : at + size], first + at, levels, needs, hold, state, spans)
        machine.shut(first + len(x), needs, hold, state, spans)
        count += len(x)
    return Tally.of(state, count / RATE / 3600)


def by_definition(log: Log, settings: Settings = SETTINGS) -> tuple[list[list[int]], ...]:
    """Events, events outside of marked spans, labels caught: by threshold and duration."""
    events, outside, reached = [], [], []
    for threshold in settings.thresholds_g:
        rows: tuple[list[int], list[int], list[int]] = ([], [], [])
        for duration in settings.durations_s:
            need, hold = samples(duration, RATE), samples(settings.hold_off_s, RATE)
            may = []
            for first, values in log.stretches:
                for at in range(len(values)):
                    window = values[at - need + 1 : at + 1] if at >= need - 1 else ()
                    if window and all(
                        abs(v) * GRAVITY_MS2 >= threshold * GRAVITY_MS2 for v in window
                    ):
                        may.append(first + at)
            fired: list[int] = []
            for sample in may:
                if not fired or sample >= fired[-1] + hold:
                    fired.append(sample)
            within = [any(a <= sample <= b for a, b in log.marked) for sample in fired]
            rows[0].append(len(fired))
            rows[1].append(within.count(False))
            rows[2].append(sum(any(a <= sample <= b for sample in may) for a, b in log.marked))
        events.append(rows[0])
        outside.append(rows[1])
        reached.append(rows[2])
    return events, outside, reached


@given(logs(), st.integers(1, 50))
def test_one_pass_is_what_loops_say(log: Log, size: int) -> None:
    tally = swept(log, size, PlainSweeps())
    events, outside, reached = by_definition(log)
    assert tally.events.tolist() == events
    assert tally.outside.tolist() == outside
    assert caught(tally.best, len(SETTINGS.thresholds_g)).tolist() == reached


@given(logs(), st.integers(1, 50))
def test_compiled_is_the_same(log: Log, size: int) -> None:
    plain, compiled = swept(log, size, PlainSweeps()), swept(log, 1000, sweeps())
    for name in ("events", "outside", "best"):
        assert (getattr(plain, name) == getattr(compiled, name)).all()


@given(logs())
def test_higher_and_longer_never_fire_more(log: Log) -> None:
    tally = swept(log, 1000, PlainSweeps())
    for axis in (0, 1):
        assert (np.diff(tally.events, axis=axis) <= 0).all()
        reached = caught(tally.best, len(SETTINGS.thresholds_g))
        assert (np.diff(reached, axis=axis) <= 0).all()


@given(logs(), st.floats(0, 3), st.floats(0, 3))
def test_a_longer_hold_off_never_brings_more(log: Log, one: float, other: float) -> None:
    short, long = sorted((one, other))
    few = swept(log, 99, PlainSweeps(), Settings((0.1, 0.3), (0.1, 0.3), long))
    many = swept(log, 99, PlainSweeps(), Settings((0.1, 0.3), (0.1, 0.3), short))
    assert (few.events <= many.events).all()


def test_a_shake_by_hand() -> None:
    # Ten samples a second, 0.6 s above 0.2 g, half a second of rest, then 0.3 s above it.
    log = Log(((0, (0.0, *(0.25,) * 6, *(0.0,) * 5, *(0.25,) * 3, 0.0)),), ((13, 13),))
    settings = Settings((0.2, 0.3), (0.1, 0.4, 0.7), 0.5)
    tally = swept(log, 4, PlainSweeps(), settings)
    # 0.1 s: at sample 1, again at 6 after 0.5 s, and at 12. 0.4 s: at 4. 0.7 s: never.
    assert tally.events.tolist() == [[3, 1, 0], [0, 0, 0]]
    assert tally.outside.tolist() == [[3, 1, 0], [0, 0, 0]]
    assert tally.best.tolist() == [[1, 0, 0]], "caught, though the clip began before the label"


def test_what_is_no_number_ends_a_shake() -> None:
    log = Log(((0, (0.4, 0.4, float("nan"), 0.4, 0.4)),), ())
    tally = swept(log, 5, PlainSweeps(), Settings((0.2,), (0.2, 0.3), 0.1))
    assert tally.events.tolist() == [[2, 0]]


def test_settings_and_sums() -> None:
    assert samples(0.04, 25.0) == 1 and samples(0.041, 25.0) == 2 and samples(0.0, 25.0) == 1
    for wrong in (((), (0.1,), 1.0), ((0.2, 0.1), (0.1,), 1.0), ((0.1,), (0.1, 0.1), 1.0)):
        with pytest.raises(ValueError, match="rise"):
            Settings(*wrong)
    with pytest.raises(ValueError, match="hold-off"):
        Settings((0.1,), (0.1,), -1.0)
    with pytest.raises(ValueError, match="order"):
        spans_of([(5, 6), (1, 2)])
    with pytest.raises(ValueError, match="no parts"):
        total([])
    one = swept(Log(((0, (0.4, 0.4)),), ((0, 1),)), 9, PlainSweeps())
    both = total([one, one])
    assert (both.events == 2 * one.events).all() and len(both.best) == 2
    assert both.hours == pytest.approx(2 * one.hours)
