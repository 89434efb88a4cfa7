"""Frozen or merely still: what tells a stuck picture from a parked vehicle.

A strongly compressed still scene repeats its pictures exactly between two key pictures, so
FFmpeg's freezedetect alone would call every parked vehicle frozen. Key pictures tell them apart:
each is coded afresh. From a stuck source they come out the same again; from a live sensor
each carries other noise. A coder that changes its quality between two key pictures also makes
them differ, but then their sizes differ too. So, for two neighbouring key pictures:

- most textured blocks equal: the source is stuck;
- sizes equal, next to no block equal: the scene is alive;
- anything else: this pair cannot tell.

Beside pairs that are alive, one of about the same size that differs clearly less is stuck: its
noise is not new. A scene that moves and stands exactly still from one sample to the next, or that
is at full speed from one sample to the next, is stuck as well (calc.standstill). Limits without a
source were chosen on own coding trials (docs/proof.md) and are held by tests.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from asfound.calc.picture_faults import BAND, NOISE, OVERLAY_SHARE, Judged, Samples, Span
from asfound.calc.standstill import leaves_at_speed, onset_of
from asfound.calc.still_pairs import EQUAL, STUCK_SHARE, Piece, Tells, pair_of, weigh
from asfound.calc.timelines import reach, runs
from asfound.sources import FREEZE_SECONDS

CHANGED = 0.5
"""A tile that changes more than this [code values] between two samples has changed."""
STRAY_SHARE = 0.02
"""Share of tiles outside the outer rows that may change while the picture counts as still."""
KEY_CHANGE = 3.0
"""Key pictures of one still scene differ by no more than this [code values] on average."""
BRIDGE, BRIDGE_CHANGE = 3, 1.5 * NOISE
"""So many samples that change no more than that may lie between still stretches."""
SETTLES_S = 4.5
"""Key pictures that tell nothing for no longer than this, or a single pair of them, in a stream
whose still scenes are alive elsewhere and never stuck: the coder's quality settles."""


def frozen_spans(
    samples: Samples, other: Sequence[Span] = (), stuck: Sequence[tuple[float, float]] = ()
) -> tuple[Span, ...]:
    """Where the picture stands still for FREEZE_SECONDS and is stuck, or where it may be.

    A burned-in clock that runs on over a stuck picture does not hide it. Spans in ``other``
    (black, one colour) are left out. ``stuck``: (from, to) of key pictures between which
    something else has shown already that the source is stuck.
    """
    times = samples.second
    if len(times) < 2:
        return ()
    still = still_steps(samples)
    told = np.zeros(len(times), np.bool_)
    for begin, end in stuck:
        told |= (times > begin + 1e-6) & (times <= end + 1e-6)
    still |= told
    for span in other:
        still &= ~((times >= span.start_s) & (times <= span.end_s))
    # A still step joins two samples: the run begins with the sample before its first step.
    member = still.copy()
    member[:-1] |= still[1:]
    rows = [
        _row(samples, first, last, told)
        for first, last in runs(times, member, FREEZE_SECONDS.value, samples.end_s, samples.stands)
    ]
    pieces = [piece for _, row in rows for piece in row]
    lives = any(piece.tells is Tells.ALIVE for piece in pieces)
    lives &= not any(piece.tells is Tells.STUCK for piece in pieces)
    spans = [span for first, row in rows for span in _spans_of_row(samples, first, row, lives)]
    return tuple(_touching_joined(spans))


def _touching_joined(spans: Sequence[Span]) -> list[Span]:
    """Stuck spans that meet are one: each ends in the middle of a pair that seems alive, and no
    source comes loose and sticks again between two key pictures."""
    out: list[Span] = []
    for span in spans:
        past = out[-1] if out else None
        both = past is not None and past.judged is span.judged is Judged.FAULT
        if past is not None and both and span.start_s <= past.end_s + 1e-6:
            most = max(past.measured, span.measured)
            out[-1] = replace(past, end_s=max(past.end_s, span.end_s), measured=most)
        else:
            out.append(span)
    return out


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


def _row(
    samples: Samples, first: int, last: int, told: NDArray[np.bool_]
) -> tuple[int, list[Piece]]:
    """First sample and pieces of the run from ``first`` to ``last``."""
    onset = onset_of(samples, first, last)
    first = first if onset is None else onset
    pieces = _pieces(samples, first, last, told)
    _mark_ends(pieces, onset is not None, leaves_at_speed(samples, first, last))
    return first, pieces


def _spans_of_row(samples: Samples, first: int, pieces: list[Piece], lives: bool) -> Iterator[Span]:
    """Stuck and unclear spans of a run. ``lives``: still scenes of the stream are alive."""
    begins, ends = reach(samples.second, samples.end_s, samples.stands)
    last = pieces[-1].last if pieces else first
    for group in _without_life(pieces):
        # What was seen alive before it is no part of it, whatever sizes say.
        start = float((begins if group[0].first == first else samples.second)[group[0].first])
        end = float(ends[group[-1].last])
        if group[-1].last < last:  # ends where the next key picture is another one
            end = float(samples.second[group[-1].last])
        stuck = any(piece.tells is Tells.STUCK for piece in group)
        least = start
        if stuck:
            start, end, least = _stuck_between(samples, pieces, group, (start, end))
        if end - least < FREEZE_SECONDS.value - 1e-6:
            continue
        pairs = [
            samples.second[one.last] - samples.second[one.first] for one in group if one.paired
        ]
        if not stuck and lives and (len(pairs) <= 1 or sum(pairs) <= SETTLES_S):
            continue
        part = slice(group[0].first + 1, group[-1].last + 1)
        between = _between_keys(samples, part)
        measured = float(between[:, ~BAND].mean()) / 256 if between.size else 0.0
        line = bool((between > CHANGED).any())
        judged = Judged.FAULT if stuck else Judged.UNCLEAR
        yield Span(start, end, judged, measured, _note(stuck, line))


def _stuck_between(
    samples: Samples, pieces: list[Piece], group: list[Piece], span: tuple[float, float]
) -> tuple[float, float, float]:
    """From when to when a stuck group lasts at a guess, for it begins and ends somewhere between
    two key pictures; and since when nothing shows that it was alive."""
    before, after = pieces.index(group[0]) - 1, pieces.index(group[-1]) + 1
    start = _middle(samples, pieces[before]) if before >= 0 else span[0]
    end = _middle(samples, pieces[after]) if after < len(pieces) else span[1]
    least = start
    while before >= 0 and pieces[before].tells is Tells.NOTHING:
        least = min(least, float(samples.second[pieces[before].first]))
        before -= 1
    return start, end, least


def _middle(samples: Samples, piece: Piece) -> float:
    return float(samples.second[piece.first] + samples.second[piece.last]) / 2


def _note(stuck: bool, line: bool) -> str:
    if not stuck:
        return "the picture stands still; stuck or a parked vehicle cannot be told from it"
    return "the picture is stuck" + (" though a burned-in line runs on" if line else "")


def _between_keys(samples: Samples, part: slice) -> NDArray[np.float32]:
    """Changes of the pictures that are no keys; of all where every picture is a key."""
    steps = samples.step[part].astype(np.float32)
    keys = samples.key[part]
    return steps if keys.all() else np.asarray(steps[~keys], np.float32)


def _pieces(samples: Samples, first: int, last: int, told: NDArray[np.bool_]) -> list[Piece]:
    """The run cut at its key pictures, each piece with what it tells."""
    keys = [at for at in range(first, last + 1) if samples.key[at]]
    cuts = sorted({first, *keys, last})
    pieces = [
        pair_of(samples, one, two)
        if samples.key[one] and samples.key[two]
        else Piece(one, two, _crossing(samples, one, two))
        for one, two in pairwise(cuts)
    ]
    for at, piece in enumerate(pieces):
        # What lies between tells more than that key pictures differ.
        if told[piece.last]:
            pieces[at] = replace(piece, tells=Tells.STUCK)
    weigh(pieces, moves_on=last + 1 < len(samples.second))
    return pieces


def _mark_ends(pieces: list[Piece], abrupt: bool, at_speed: bool) -> None:
    """What came to rest in one sample is stuck; so is what is at full speed in one sample, as
    far back as nothing shows that it was alive."""
    if not pieces:
        return
    if abrupt and pieces[0].tells is Tells.NOTHING:
        pieces[0] = replace(pieces[0], tells=Tells.STUCK)
    for at in range(len(pieces) - 1, -1, -1):
        if not at_speed or pieces[at].tells is not Tells.NOTHING:
            break
        pieces[at] = replace(pieces[at], tells=Tells.STUCK)


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


def _without_life(pieces: list[Piece]) -> Iterator[list[Piece]]:
    """Unbroken rows of pieces that do not show a live scene.

    A stuck picture stays stuck until something moves or lives. What stood still before the first
    piece that shows it is a row of its own: it may have been alive.
    """
    group: list[Piece] = []
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
