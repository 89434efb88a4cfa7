"""The order of a log's times: what goes back is left out, what shares a stamp is spread."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

MOST_STEP_S = 1.0
"""Stamps that several samples share are those of whole seconds, or finer."""


@dataclass
class LeftOut:
    """How many samples were left out, and why."""

    back: int = 0
    repeated: int = 0


class Ordered:
    """Takes blocks of (n,) times and (n, 3) figures and gives them with times that rise.

    A sample whose time lies before one that came earlier is left out; so is one that repeats time
    and figures of the one before; a single stamp ahead of its neighbours is wrong itself. Samples
    that share a stamp lie evenly between it and the next. What is last is held until more comes,
    so the blocks change nothing.
    """

    def __init__(self) -> None:
        self.left_out = LeftOut()
        self._raw = _nothing()
        self._before = -np.inf
        self._latest = -np.inf
        self._last = np.full(3, np.nan)
        self._stamp = _nothing()

    def feed(self, times: Floats, xyz: Floats) -> tuple[Floats, Floats]:
        """What is sure by now."""
        times, xyz = _joined(self._raw, (times, xyz))
        # Whether the last one is ahead of its neighbours is for the next to say.
        self._raw = times[-1:], xyz[-1:]
        if len(times) < 2:
            return _nothing()
        before = np.concatenate([[self._before], times[:-2]])
        self._before = float(times[-2])
        ahead = (times[:-1] > times[1:]) & (before <= times[1:])
        self.left_out.back += int(ahead.sum())
        return self._held(*self._rising(times[:-1][~ahead], xyz[:-1][~ahead]))

    def rest(self) -> tuple[Floats, Floats]:
        """What was held, when nothing more comes."""
        times, xyz = _joined(self._stamp, self._rising(*self._raw))
        self._raw = self._stamp = _nothing()
        if len(times) == 0:
            return times, xyz
        return _spread(times, float(times[-1]) + MOST_STEP_S), xyz

    def _rising(self, times: Floats, xyz: Floats) -> tuple[Floats, Floats]:
        so_far = np.maximum.accumulate(np.concatenate([[self._latest], times]))
        keep = times >= so_far[:-1]
        self.left_out.back += int((~keep).sum())
        times, xyz = times[keep], xyz[keep]
        if len(times) == 0:
            return times, xyz
        same = np.diff(np.concatenate([[self._latest], times])) == 0
        same &= (np.concatenate([self._last[None], xyz[:-1]]) == xyz).all(axis=1)
        self.left_out.repeated += int(same.sum())
        self._latest, self._last = float(times[-1]), xyz[-1]
        return times[~same], xyz[~same]

    def _held(self, times: Floats, xyz: Floats) -> tuple[Floats, Floats]:
        """All but the last stamp, which more samples may share."""
        times, xyz = _joined(self._stamp, (times, xyz))
        if len(times) == 0:
            return times, xyz
        cut = int(np.searchsorted(times, times[-1]))
        self._stamp = times[cut:], xyz[cut:]
        return _spread(times[:cut], float(times[-1])), xyz[:cut]


def _nothing() -> tuple[Floats, Floats]:
    return np.empty(0), np.empty((0, 3))


def _joined(one: tuple[Floats, Floats], other: tuple[Floats, Floats]) -> tuple[Floats, Floats]:
    return np.concatenate([one[0], other[0]]), np.concatenate([one[1], other[1]])


def _spread(times: Floats, following: float) -> Floats:
    """Equal times (n,) evenly up to the next, of which the one after them is ``following``."""
    if len(times) == 0 or (np.diff(times) > 0).all():
        return times
    stamps, first, counts = np.unique(times, return_index=True, return_counts=True)
    steps = np.minimum(np.diff(np.append(stamps, following)), MOST_STEP_S) / counts
    return np.asarray(
        times + (np.arange(len(times)) - np.repeat(first, counts)) * np.repeat(steps, counts)
    )
