"""A log's sweep: the same whatever its blocks; parts add up; both ways is what SciPy does."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import signal

from asfound.calc.even_samples import Floats, Ticks
from asfound.calc.motion_filters import NO_FILTER, butterworth, channel_class
from asfound.calc.trigger_grid import Settings, total
from asfound.jobs.sweep_log import Both, Mount, Part, SweepLog, sweep_log
from asfound.model.drive_log import Acceleration, Label
from asfound.model.trigger import Direction
from asfound.ports.backends.sweep_numba import sweeps
from asfound.ports.sweeps import PlainSweeps

ALL = (Direction.FORWARD, Direction.SIDEWAYS, Direction.UPRIGHT)
SETTINGS = Settings((0.05, 0.1, 0.2), (0.05, 0.3), 1.0)


def log_of(seed: int, size: int, even: bool = False) -> SweepLog:
    draw = np.random.default_rng(seed)
    steps = np.full(300, 0.04) if even else draw.choice([0.04, 0.04, 0.05, 0.03, 2.0], 300)
    times = 1e9 + np.cumsum(steps)
    xyz = np.cumsum(draw.normal(0, 0.4, (300, 3)), axis=0)

    def blocks() -> Iterator[Acceleration]:
        for at in range(0, 300, size):
            yield Acceleration(times[at : at + size], xyz[at : at + size])

    length = float(times[-1] - times[0])
    labels = tuple(
        Label(times[0] + at, times[0] + at + 0.5, "x") for at in (1.0, 2.0, 0.7 * length)
    )
    mount = Mount(np.eye(3), np.array([0.0, 0, 1]), ALL)
    ticks = Ticks(float(times[0]), 25.0, even)
    cuts = (float(times[0] + 0.4 * length), float(times[0] + 0.5 * length))
    one = butterworth(5.0, 25.0)
    return SweepLog(blocks, 1.0, ticks, mount, one, SETTINGS, cuts_s=cuts, labels=labels)


def told(parts: tuple[Part, ...]) -> list[object]:
    return [
        (direction, tally.events.tolist(), tally.outside.tolist(), tally.best.tolist(), tally.hours)
        for part in parts
        for direction, tally in part.tallies.items()
    ] + [part.labels for part in parts]


@given(st.integers(0, 30), st.integers(1, 299), st.booleans(), st.booleans())
def test_blocks_change_nothing(seed: int, size: int, even: bool, both_ways: bool) -> None:
    machine = sweeps()
    whole, parts = (replace(log_of(seed, each, even), both_ways=both_ways) for each in (300, size))
    assert told(sweep_log(whole, sweeps=machine)) == told(sweep_log(parts, sweeps=machine))


@given(st.integers(0, 10))
def test_compiled_is_the_same(seed: int) -> None:
    log = log_of(seed, 77)
    assert told(sweep_log(log, sweeps=PlainSweeps())) == told(sweep_log(log, sweeps=sweeps()))


def test_parts_add_up() -> None:
    log = replace(log_of(3, 50, even=True), labels=())
    parts = sweep_log(log, sweeps=sweeps())
    assert len(parts) == 3 and all(part.labels == () for part in parts)
    whole = sweep_log(replace(log, cuts_s=()), sweeps=sweeps())
    for direction in ALL:
        summed = total([part.tallies[direction] for part in parts])
        assert summed.hours == pytest.approx(300 / 25 / 3600)
        # A cut ends a hold-off, and may end a shake too early: one event each, more or fewer.
        more = summed.events - whole[0].tallies[direction].events
        assert (np.abs(more) <= 2).all()
    assert {n for part in sweep_log(log_of(3, 50, True), sweeps=sweeps()) for n in part.labels} == {
        0,
        1,
        2,
    }


def test_directions() -> None:
    def seen(direction: Direction) -> list[list[int]]:
        mount = Mount(np.eye(3), np.zeros(3), (direction,))
        xyz = np.tile([3.0, 4.0, 12.0], (10, 1))
        block = Acceleration(np.arange(10) / 25, xyz)
        log = SweepLog(lambda: iter([block]), 1.0, Ticks(0.0, 25.0, True), mount, NO_FILTER,
                       Settings((0.3, 0.5, 1.2, 1.3), (0.04,), 10.0))  # fmt: skip
        events: list[list[int]] = (
            sweep_log(log, sweeps=PlainSweeps())[0].tallies[direction].events.tolist()
        )
        return events

    # Sides 3, 4, 12 m/s²: 0.31, 0.41, 1.22 g; level 5 m/s² = 0.51 g; all 13 m/s² = 1.33 g.
    assert seen(Direction.FORWARD) == [[1], [0], [0], [0]]
    assert seen(Direction.SIDEWAYS) == [[1], [0], [0], [0]]
    assert seen(Direction.UPRIGHT) == [[1], [1], [1], [0]]
    assert seen(Direction.LEVEL) == [[1], [1], [0], [0]]
    assert seen(Direction.TOTAL) == [[1], [1], [1], [1]]


def test_both_ways_is_what_scipy_does() -> None:
    """A crash pulse (half a sine, 20 g in 80 ms) through CFC 60, forward and backward."""
    rate = 10_000.0
    time = np.arange(20_000) / rate
    pulse = 20 * 9.80665 * np.sin(np.pi * (time - 0.5) / 0.08) * ((time >= 0.5) & (time < 0.58))
    pulse = pulse + np.random.default_rng(1).normal(0, 20, len(time))
    one = channel_class(60, rate)
    sections = np.insert(one.sections, 3, 1.0, axis=1)
    expected = signal.sosfiltfilt(sections, pulse, padtype=None)
    both = Both(one, rate, sweeps())
    y: Floats = np.stack([pulse] * 3)
    got = [both.feed(y[:, at : at + 999], at == 0) for at in range(0, len(pulse), 999)]
    made = np.concatenate([*got, both.rest()], axis=1)[0]
    inside = slice(1000, 19_000)
    assert np.abs(made - expected)[inside].max() < 1e-6
    assert len(made) == len(pulse)
