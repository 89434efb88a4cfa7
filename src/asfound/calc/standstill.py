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
"""An abrupt onset or end changes at least this share of the tiles: no door, no passer-by."""
CHANGED = 0.5
"""A tile that changes more than this [code values] has changed."""
NEXT_S = 0.3
"""Samples farther apart than this say nothing of speed."""
LIVELY, OVER_NOISE = 1.0, 3.0
"""In the dark few tiles move: those that change by so much [code values], and by so many times
what the median tile does, for noise is the same everywhere."""
LIVELY_TILES, BOTH_SIDES = 5, 2
"""So many tiles move in DRIVES_S, so many of them on either half of the picture, and on both halves
right beside what stands still: a place that is driven through. What passes a parked vehicle comes
into view and goes out of it at an edge."""
DRIVES_S, PAUSE, FEWEST_S = 1.5, 3, 0.8
"""It moves for so long, with fewer than so many samples of stillness in a row, or to the end of
what was decoded: no wiper. On one side of what stands still so many seconds of it are seen."""
RESTS_S = 0.6
"""How soon after a key picture it shows that a scene stands still already."""
LIVELY_REST = 0.1
"""The most different tile of a still picture changes by this share of what moving ones do."""


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
    if slight and leaves_at_speed(samples, at, last, SLIGHT):
        return at
    return _onset_in_the_dark(samples, first, last)


def _onset_in_the_dark(samples: Samples, first: int, last: int) -> int | None:
    """As onset_of where few tiles move: both onset and end are abrupt, on both sides."""
    at = first
    while 1 < at < last and first - at < ONSET_SAMPLES and not _lively(samples, at).any():
        at -= 1
    while at < last and at - first < ONSET_SAMPLES and _lively(samples, at + 1).any():
        at += 1
    while last > at and _lively(samples, last).any():
        last -= 1
    inside = np.arange(at + 1, last + 1)
    inside = inside[(samples.dense & ~samples.key)[inside]]
    if samples.second[last] - samples.second[at] < ONSET_S - 1e-6 or len(inside) < FEWEST_BEFORE:
        return None
    before, after = _drive(samples, at, -1), _drive(samples, last + 1, 1)
    if before is None or after is None or max(before[1], after[1]) < FEWEST_S:
        return None
    most = float(samples.step[inside][:, ~BAND].astype(np.float32).max())
    return at if most <= LIVELY_REST * min(before[0], after[0]) else None


def _drive(samples: Samples, at: int, way: int) -> tuple[float, float] | None:
    """Whether a place is driven through from sample ``at`` on, back (``way`` -1) or forth (1): how
    much the most different tile changes [code values], and for how many seconds that is seen."""
    seen, pause, now = [], 0, at
    while 0 < now < len(samples.second) and samples.dense[now]:
        if abs(samples.second[now] - samples.second[at]) > DRIVES_S:
            break
        lively = _lively(samples, now)
        if lively.any():
            seen.append((lively, float(samples.step[now][~BAND].max())))
        pause = 0 if lively.any() else pause + (not samples.key[now])
        if pause >= PAUSE:
            return None
        now += way
    if len(seen) < FEWEST_BEFORE:
        return None
    begins = np.logical_or(seen[0][0], seen[1][0])
    moved = np.logical_or.reduce([lively for lively, _ in seen])
    if moved.sum() < LIVELY_TILES or min(_halves(moved)) < BOTH_SIDES or not min(_halves(begins)):
        return None
    lasts = float(abs(samples.second[now - way] - samples.second[at]))
    return float(np.median([peak for _, peak in seen])), lasts


def _halves(tiles: NDArray[np.bool_]) -> tuple[int, int]:
    half = tiles.shape[1] // 2
    return int(tiles[:, :half].sum()), int(tiles[:, half:].sum())


def _lively(samples: Samples, at: int) -> NDArray[np.bool_]:
    """Tiles (rows x columns, without bands) that move, noise and changes of light left out."""
    step = samples.step[at].astype(np.float32)
    least = max(LIVELY, OVER_NOISE * float(np.median(step[~BAND])))
    return np.asarray(step > least, np.bool_) & ~BAND


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
    if least >= ABRUPT_BEFORE and not _wide(samples, at):
        return False
    typical = before.min() if least >= ABRUPT_BEFORE else np.median(before)
    moving = typical >= least and before[-2:].max() >= ABRUPT_DECAY * before.max()
    return bool(moving and after.mean() <= ABRUPT_REST * np.median(before))


def _wide(samples: Samples, at: int) -> bool:
    """Did it move all over to the last? What passes a parked vehicle leaves the view at an edge."""
    last = samples.step[max(1, at - 1) : at + 1][:, ~BAND].astype(np.float32)
    return bool(((last > CHANGED).mean(axis=1) >= WIDE).all())


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


def rests_at_first(samples: Samples) -> bool:
    """Do the pictures between two key pictures change no more than refining does, from the first
    on and for RESTS_S?"""
    near = (samples.second <= samples.second[:1] + RESTS_S) & ~samples.key
    moves = movement(samples)[near]
    return len(moves) >= FEWEST_BEFORE and bool((moves <= REFINING / 2).all())


def movement(samples: Samples) -> NDArray[np.float64]:
    """Mean change of each sample [code values] (n), less what is one change of light all over."""
    change = samples.step[:, ~BAND].astype(np.float64).mean(axis=1)
    means = samples.mean[:, ~BAND].astype(np.float64)
    light = np.abs(np.diff(means, axis=0, prepend=means[:1]).mean(axis=1))
    return np.asarray(np.where(np.isnan(change), np.nan, np.maximum(0, change - light)))
