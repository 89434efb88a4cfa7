"""Frozen or merely still: what tells a stuck picture from a parked vehicle.

A strongly compressed still scene repeats its pictures exactly between two key pictures, so
FFmpeg's freezedetect alone would call every parked vehicle frozen. Key pictures tell them apart:
each is coded afresh. From a stuck source they come out the same again; from a live sensor
each carries other noise. A coder that changes its quality between two key pictures also makes
them differ, but then their sizes differ too. So, for two neighbouring key pictures:

- most textured blocks equal: the source is stuck;
- sizes equal, next to no block equal: the scene is alive;
- anything else: this pair cannot tell.

A scene that moves and stands exactly still from one sample to the next is stuck as well: vehicles
come to rest over several samples. Limits without a source were chosen on own coding trials
(docs/proof.md) and are held by tests.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from asfound.calc.picture_faults import BAND, NOISE, OVERLAY_SHARE, Judged, Samples, Span
from asfound.calc.timelines import reach, runs
from asfound.sources import FREEZE_SECONDS

CHANGED = 0.5
"""A tile that changes more than this [code values] between two samples has changed."""
STRAY_SHARE = 0.02
"""Share of tiles outside the outer rows that may change while the picture counts as still."""
KEY_CHANGE = 4.0
"""Key pictures of one still scene differ by no more than this [code values] on average."""
REFINING = 1.0
"""A coder that refines a still picture changes it by no more than this [code values]."""
BRIDGE, BRIDGE_CHANGE = 3, 1.5 * NOISE
"""So many samples that change no more than that may lie between still stretches."""
EQUAL = 0.05
"""A tile that differs less than this [code values] is coded the same."""
STUCK_SHARE = 0.5
"""Share of equal blocks from which two key pictures show one stuck source."""
ALIVE = ((0.005, 0.15), (0.01, 0.05), (0.03, 0.01))
"""Sizes differ by this share at most, equal blocks are this share at most: a live scene."""
SAME_CHANGE = 0.15
"""Key pictures beside live ones that differ as much as those, give or take this share, and have
no equal blocks either, are live too (their sizes differ while the coder settles)."""
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


class Tells(Enum):
    """What two neighbouring key pictures of a still run say."""

    STUCK = "stuck"
    ALIVE = "alive"
    NOTHING = "nothing"


@dataclass(frozen=True, slots=True)
class _Piece:
    """Samples ``first`` to ``last`` of a still run, and what is known of them."""

    first: int
    last: int
    tells: Tells
    change: float = 0.0
    equal: float = 0.0


def frozen_spans(samples: Samples, other: Sequence[Span] = ()) -> tuple[Span, ...]:
    """Where the picture stands still for FREEZE_SECONDS and is stuck, or where it may be.

    A burned-in clock that runs on over a stuck picture does not hide it. Spans in ``other``
    (black, one colour) are left out.
    """
    times = samples.second
    if len(times) < 2:
        return ()
    still = still_steps(samples)
    for span in other:
        still &= ~((times >= span.start_s) & (times <= span.end_s))
    # A still step joins two samples: the run begins with the sample before its first step.
    member = still.copy()
    member[:-1] |= still[1:]
    found: list[Span] = []
    for first, last in runs(times, member, FREEZE_SECONDS.value, samples.end_s, samples.stands):
        found.extend(_spans_of_run(samples, first, last))
    return tuple(found)


def still_steps(samples: Samples) -> NDArray[np.bool_]:
    """True where a sample shows the same as the one before, but for a burned-in line."""
    step = samples.step.astype(np.float32)
    step[0] = np.inf
    changed = ~(step <= CHANGED)
    outside = (changed & ~BAND).mean(axis=(1, 2)) <= STRAY_SHARE
    inside = (changed & BAND).mean(axis=(1, 2)) <= OVERLAY_SHARE
    rest = np.where(changed, 0, step).sum(axis=(1, 2)) / np.maximum(1, (~changed).sum(axis=(1, 2)))
    still = outside & inside & (rest <= NOISE)
    still |= samples.key_equal >= STUCK_SHARE
    near = step.mean(axis=(1, 2)) <= KEY_CHANGE
    # Where every picture is a key picture (Motion JPEG) they are compared like any others.
    if samples.dense.any() and samples.key[samples.dense].mean() < 0.5:
        still |= samples.key & near
    # What was not decoded between two key pictures stood still if its sizes say so.
    held = np.append(True, samples.holds[:-1])
    sparse = ((samples.key_equal >= STUCK_SHARE) | near) & held
    still = np.where(samples.dense, still, sparse)
    calm = (step[:, ~BAND].mean(axis=1) <= BRIDGE_CHANGE) & samples.dense
    return _bridged(np.asarray(still, dtype=np.bool_), np.asarray(calm, dtype=np.bool_))


def _bridged(still: NDArray[np.bool_], calm: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """``still`` with short calm breaks filled in.

    A coder that refines a picture it can no longer improve by motion changes it a little.
    """
    out = still.copy()
    edges = np.diff(np.concatenate(([0], still.astype(np.int8), [0])))
    starts, stops = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    for at in range(len(starts) - 1):
        gap = slice(stops[at], starts[at + 1])
        if gap.stop - gap.start <= BRIDGE and calm[gap].all():
            out[gap] = True
    return out


def _spans_of_run(samples: Samples, first: int, last: int) -> Iterator[Span]:
    begins, ends = reach(samples.second, samples.end_s, samples.stands)
    onset = _onset(samples, first, last)
    first = first if onset is None else onset
    for group in _without_life(_pieces(samples, first, last, onset is not None)):
        # What was seen alive before it is no part of it, whatever sizes say.
        start = float((begins if group[0].first == first else samples.second)[group[0].first])
        end = float(ends[group[-1].last])
        if group[-1].last < last:  # ends where the next key picture is another one
            end = float(samples.second[group[-1].last])
        if end - start < FREEZE_SECONDS.value - 1e-6:
            continue
        stuck = any(piece.tells is Tells.STUCK for piece in group)
        part = slice(group[0].first + 1, group[-1].last + 1)
        between = _between_keys(samples, part)
        measured = float(between[:, ~BAND].mean()) / 256 if between.size else 0.0
        line = bool((between > CHANGED).any())
        judged = Judged.FAULT if stuck else Judged.UNCLEAR
        yield Span(start, end, judged, measured, _note(stuck, line))


def _note(stuck: bool, line: bool) -> str:
    if not stuck:
        return "the picture stands still; stuck or a parked vehicle cannot be told from it"
    return "the picture is stuck" + (" though a burned-in line runs on" if line else "")


def _between_keys(samples: Samples, part: slice) -> NDArray[np.float32]:
    """Changes of the pictures that are no keys; of all where every picture is a key."""
    steps = samples.step[part].astype(np.float32)
    keys = samples.key[part]
    return steps if keys.all() else np.asarray(steps[~keys], np.float32)


def _pieces(samples: Samples, first: int, last: int, abrupt: bool) -> list[_Piece]:
    """The run cut at its key pictures, each piece with what it tells."""
    keys = [at for at in range(first, last + 1) if samples.key[at]]
    cuts = sorted({first, *keys, last})
    pieces = [
        _pair(samples, one, two)
        if samples.key[one] and samples.key[two]
        else _Piece(one, two, _crossing(samples, one, two))
        for one, two in pairwise(cuts)
    ]
    _spread_life(pieces)
    if abrupt and pieces[0].tells is Tells.NOTHING:
        pieces[0] = replace(pieces[0], tells=Tells.STUCK)
    return pieces


def _pair(samples: Samples, one: int, two: int) -> _Piece:
    """What two neighbouring key pictures tell."""
    equal = float(samples.key_equal[two])
    change = float(np.median(samples.key_step[two].astype(np.float32)[~BAND]))
    tells = keys_tell(equal, int(samples.key_bytes[one]), int(samples.key_bytes[two]))
    return _Piece(one, two, tells, change, equal)


def keys_tell(equal: float, one_bytes: int, two_bytes: int) -> Tells:
    """What the share of equal blocks and the sizes in the file (0: unknown) tell."""
    if equal >= STUCK_SHARE:
        return Tells.STUCK
    if min(one_bytes, two_bytes) > 0:
        apart = 1 - min(one_bytes, two_bytes) / max(one_bytes, two_bytes)
        if any(apart <= size and equal <= share for size, share in ALIVE):
            return Tells.ALIVE
    return Tells.NOTHING


def _crossing(samples: Samples, one: int, two: int) -> Tells:
    """Before the first key picture of a run: it may repeat what was shown just before.

    That it does not tells nothing: the pictures between keys are coded more coarsely.
    """
    if not samples.key[two] or two == one or not samples.dense[two]:
        return Tells.NOTHING
    mean = samples.mean[two].astype(np.float32)
    fit = ~BAND & (samples.std[two].astype(np.float32) >= 1) & (mean > 37) & (mean < 235)
    if fit.sum() < 12:
        return Tells.NOTHING
    equal = (samples.step[two].astype(np.float32)[fit] < EQUAL).mean()
    return Tells.STUCK if equal >= STUCK_SHARE else Tells.NOTHING


def _spread_life(pieces: list[_Piece]) -> None:
    """Pieces beside live ones that look like them are live; so are a run's ends beside them."""
    for order in (range(1, len(pieces)), range(len(pieces) - 2, -1, -1)):
        for at in order:
            beside = pieces[at - 1] if order.step > 0 else pieces[at + 1]
            piece = pieces[at]
            if piece.tells is not Tells.NOTHING or beside.tells is not Tells.ALIVE:
                continue
            end = piece.change == 0.0 and at in (0, len(pieces) - 1)
            alike = abs(piece.change - beside.change) <= SAME_CHANGE * beside.change
            if end or (alike and piece.equal <= ALIVE[-1][1]):
                pieces[at] = replace(piece, tells=Tells.ALIVE, change=beside.change)


def _onset(samples: Samples, first: int, last: int) -> int | None:
    """The last sample that moved, when the scene moved until there and hardly changed after it.

    The coder may still refine the picture for a while: the run's first sample comes later then.
    """
    change = samples.step[:, ~BAND].astype(np.float32).mean(axis=1)
    at = first
    while at > 0 and first - at < ONSET_SAMPLES and change[at] <= REFINING:
        at -= 1
    # Only steps from one picture to the next count, not those over what was not decoded.
    before = change[max(1, at - BEFORE_SAMPLES + 1) : at + 1]
    before = before[samples.dense[max(1, at - BEFORE_SAMPLES + 1) : at + 1] & ~np.isnan(before)]
    after = change[at + 1 : at + 1 + ONSET_SAMPLES // 2][
        (~samples.key & samples.dense)[at + 1 : at + 1 + ONSET_SAMPLES // 2]
    ]
    lasts = samples.second[last] - samples.second[at]
    if len(before) < FEWEST_BEFORE or len(after) < FEWEST_BEFORE or lasts < ONSET_S - 1e-6:
        return None
    moving = before.min() >= ABRUPT_BEFORE and before[-2:].max() >= ABRUPT_DECAY * before.max()
    return at if moving and after.mean() <= ABRUPT_REST * np.median(before) else None


def _without_life(pieces: list[_Piece]) -> Iterator[list[_Piece]]:
    """Unbroken rows of pieces that do not show a live scene.

    A stuck picture stays stuck until something moves or lives. What stood still before the first
    piece that shows it is a row of its own: it may have been alive.
    """
    group: list[_Piece] = []
    stuck = False
    for piece in pieces:
        turns = piece.tells is Tells.STUCK and not stuck
        if group and (turns or piece.tells is Tells.ALIVE):
            yield group
            group = []
        stuck = piece.tells is Tells.STUCK or (stuck and piece.tells is Tells.NOTHING)
        if piece.tells is not Tells.ALIVE:
            group.append(piece)
    if group:
        yield group
