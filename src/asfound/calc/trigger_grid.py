"""The settings of a motion trigger that are tried, and what came of them.

Counting is trigger_sweep's; here are its figures in units, its state, and sums of what it counted.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil

import numpy as np
from numpy.typing import NDArray

from asfound.calc.mounting import GRAVITY_MS2
from asfound.calc.trigger_sweep import NEVER, Floats, Ints, Spans, State

THRESHOLDS_G = tuple(round(0.05 * step, 2) for step in range(1, 41))
DURATIONS_S = (0.05, 0.1, 0.2, 0.3, 0.4, 0.6, 0.8, 1.0, 1.5, 2.0)
HOLD_OFF_S = 10.0
"""What is recorded of an event, at least (common practice, no source): the next may begin then."""


@dataclass(frozen=True, slots=True)
class Settings:
    """Thresholds [g] and durations [s], both rising, and the hold-off [s].

    Raises ValueError when they do not rise, or lie at 0 or below.
    """

    thresholds_g: tuple[float, ...] = THRESHOLDS_G
    durations_s: tuple[float, ...] = DURATIONS_S
    hold_off_s: float = HOLD_OFF_S

    def __post_init__(self) -> None:
        for each in (self.thresholds_g, self.durations_s):
            if not each or min(each) <= 0 or list(each) != sorted(set(each)):
                raise ValueError("thresholds and durations have to rise, from above 0")
        if self.hold_off_s < 0:
            raise ValueError("a hold-off is 0 s or more")

    def levels(self) -> Floats:
        """Thresholds [m/s²] as trigger_sweep.sweep takes them."""
        return np.array([-1.0, *(each * GRAVITY_MS2 for each in self.thresholds_g), np.inf])

    def needs(self, rate_hz: float) -> Ints:
        """Samples that each duration takes."""
        return np.array([samples(each, rate_hz) for each in self.durations_s], np.int64)

    def hold(self, rate_hz: float) -> int:
        """Samples from one event to the next, at least."""
        return samples(self.hold_off_s, rate_hz)

    def new_state(self, marked: int) -> State:
        """Nothing seen yet, with so many marked spans."""
        shape = (len(self.thresholds_g), len(self.durations_s))
        return (
            np.zeros(shape[0] + 1, np.int64),
            np.full(shape, NEVER, np.int64),
            np.zeros(shape, np.int64),
            np.zeros(shape, np.int64),
            np.zeros((marked, shape[1]), np.int64),
        )


def samples(seconds: float, rate_hz: float) -> int:
    """Samples that cover ``seconds``, 1 at least."""
    return max(1, ceil(seconds * rate_hz - 1e-6))


def spans_of(marked: Iterable[tuple[int, int]]) -> Spans:
    """Marked spans (first and last sample), in the order of their beginnings, for the sweep."""
    rows = np.array(list(marked), np.int64).reshape(-1, 2)
    if len(rows) and (np.diff(rows[:, 0]) < 0).any():
        raise ValueError("marked spans are not in order")
    ends = np.ascontiguousarray(rows[:, 1])
    return np.ascontiguousarray(rows[:, 0]), ends, np.maximum.accumulate(ends)


@dataclass(frozen=True, slots=True, eq=False)
class Tally:
    """What one axis did in a part of a log: ``events`` (K, D) of each threshold and duration, of
    them those ``outside`` of labelled events (K, D), and the highest level, 1 … K, at which each
    label is caught (L, D), 0 for none. In ``hours`` of log."""

    events: Ints
    outside: Ints
    best: Ints
    hours: float

    @staticmethod
    def of(state: State, hours: float) -> Tally:
        """What a sweep has counted."""
        return Tally(state[2], state[3], state[4], hours)


def total(parts: Iterable[Tally]) -> Tally:
    """Several parts as one, labels one after the other. Raises ValueError for no parts."""
    several = list(parts)
    if not several:
        raise ValueError("no parts")
    return Tally(
        np.sum([part.events for part in several], axis=0),
        np.sum([part.outside for part in several], axis=0),
        np.concatenate([part.best for part in several]),
        sum(part.hours for part in several),
    )


def caught(best: Ints, levels: int) -> NDArray[np.int64]:
    """(K, D): labels caught at each threshold and duration, of ``best`` (L, D)."""
    made = [(best >= level).sum(axis=0) for level in range(1, levels + 1)]
    return np.array(made, np.int64).reshape(levels, best.shape[1])
