"""How a scene comes to stand still, and how it moves on: what no vehicle can do shows that the
picture was stuck.

Vehicles come to rest by moving less and less, and set off by moving more and more; a picture that
sticks while the vehicle drives does both from one sample to the next. Light that changes all at
once (lamps, the camera's own exposure) is no movement. Limits are own choices, held by tests.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from asfound.calc.picture_faults import BAND, Samples

REFINING = 1.0
"""A coder that refines a still picture changes it by no more than this [code values]."""
ABRUPT_BEFORE = 1.0
"""Mean change [code values] of each sample before a still run whose onset may be abrupt."""
ABRUPT_DECAY = 0.6
"""The last but one change before an abrupt onset (the last may be half stuck already), as a share
of the largest of those before: vehicles come to rest by changing less and less."""
ABRUPT_REST = 0.1
"""Mean change after an abrupt onset, as a share of the change before (the coder refines)."""
ONSET_SAMPLES, ONSET_S = 10, 1.0
"""Refining after an onset lasts so many samples at most; half as many are looked at after it, and
the run lasts at least so many seconds."""
BEFORE_SAMPLES, FEWEST_BEFORE = 6, 3
AT_SPEED = 0.8
"""The first change after an abrupt end, as a share of the largest of those that follow."""
SLIGHT = 0.25
"""Where onset and end are both abrupt, changes of this much [code values] carry the judgement."""
WIDE = 0.2
"""An abrupt end changes at least this share of the tiles: no door, no passer-by."""
CHANGED = 0.5
"""A tile that changes more than this [code values] has changed."""
NEXT_S = 0.3
"""Samples farther apart than this say nothing of speed."""


def onset_of(samples: Samples, first: int, last: int) -> int | None:
    """The last sample that moved, when the scene moved until there and hardly changed after it.

    The coder may still refine the picture for a while: the run's first sample comes later then.
    """
    moves = movement(samples)
    at = first
    while at > 0 and first - at < ONSET_SAMPLES and moves[at] <= REFINING:
        at -= 1
    if _comes_to_rest_at_once(samples, moves, at, last, ABRUPT_BEFORE):
        return at
    at = first
    while at > 0 and first - at < ONSET_SAMPLES and moves[at] <= ABRUPT_REST * SLIGHT:
        at -= 1
    slight = _comes_to_rest_at_once(samples, moves, at, last, SLIGHT)
    return at if slight and leaves_at_speed(samples, at, last, SLIGHT) else None


def _comes_to_rest_at_once(
    samples: Samples, moves: NDArray[np.float64], at: int, last: int, least: float
) -> bool:
    # Only steps from one picture to the next count, not those over what was not decoded.
    rows = slice(max(1, at - BEFORE_SAMPLES + 1), at + 1)
    before = moves[rows][samples.dense[rows] & ~np.isnan(moves[rows])]
    rows = slice(at + 1, at + 1 + ONSET_SAMPLES // 2)
    after = moves[rows][(~samples.key & samples.dense)[rows]]
    lasts = samples.second[last] - samples.second[at]
    if len(before) < FEWEST_BEFORE or len(after) < FEWEST_BEFORE or lasts < ONSET_S - 1e-6:
        return False
    typical = before.min() if least >= ABRUPT_BEFORE else np.median(before)
    moving = typical >= least and before[-2:].max() >= ABRUPT_DECAY * before.max()
    return bool(moving and after.mean() <= ABRUPT_REST * np.median(before))


def leaves_at_speed(samples: Samples, first: int, last: int, least: float = ABRUPT_BEFORE) -> bool:
    """Does the scene move at full speed right after sample ``last`` of a still run?"""
    moves = movement(samples)
    rows = slice(last + 2, last + 2 + BEFORE_SAMPLES)
    near = samples.dense[rows] & (np.diff(samples.second[last + 1 : rows.stop]) <= NEXT_S)
    after = moves[rows][near & ~samples.key[rows]]
    part = slice(max(first + 1, last - ONSET_SAMPLES // 2), last + 1)
    rest = moves[part][(~samples.key & samples.dense)[part]]
    if len(after) < FEWEST_BEFORE or len(rest) < FEWEST_BEFORE or not samples.dense[last + 1]:
        return False
    wide = (samples.step[last + 1][~BAND].astype(np.float32) > CHANGED).mean() >= WIDE
    going = np.median(after) >= least and after.min() >= ABRUPT_DECAY / 2 * np.median(after)
    if least < ABRUPT_BEFORE:
        wide, going = True, bool(np.median(after) >= least)
    at_once = moves[last + 1] >= AT_SPEED * after.max()
    return bool(wide and going and at_once and rest.mean() <= ABRUPT_REST * np.median(after))


def movement(samples: Samples) -> NDArray[np.float64]:
    """Mean change of each sample [code values] (n), less what is one change of light all over."""
    change = samples.step[:, ~BAND].astype(np.float64).mean(axis=1)
    means = samples.mean[:, ~BAND].astype(np.float64)
    light = np.abs(np.diff(means, axis=0, prepend=means[:1]).mean(axis=1))
    return np.asarray(np.where(np.isnan(change), np.nan, np.maximum(0, change - light)))
