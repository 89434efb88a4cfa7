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
from dataclasses import dataclass, replace
from enum import Enum
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from asfound.calc.picture_faults import BAND, NOISE, OVERLAY_SHARE, Judged, Samples, Span
from asfound.calc.standstill import leaves_at_speed, onset_of
from asfound.calc.timelines import reach, runs
from asfound.sources import FREEZE_SECONDS

CHANGED = 0.5
"""A tile that changes more than this [code values] between two samples has changed."""
STRAY_SHARE = 0.02
"""Share of tiles outside the outer rows that may change while the picture counts as still."""
KEY_CHANGE = 4.0
"""Key pictures of one still scene differ by no more than this [code values] on average."""
BRIDGE, BRIDGE_CHANGE = 3, 1.5 * NOISE
"""So many samples that change no more than that may lie between still stretches."""
EQUAL = 0.05
"""A tile that differs less than this [code values] is coded the same."""
STUCK_SHARE = 0.5
"""Share of equal blocks from which two key pictures show one stuck source."""
SAME_TILE, STRUCTURE, FEWEST_TILES = 0.1, 1.0, 6
"""Too dark for blocks: stuck as well where no tile differs by more than this [code values], while
so many have a standard deviation of STRUCTURE or more. In trials with dark scenes, quantisers 24
to 42 and sensor noise of 0.4 to 1.5 the most different tile of live pairs differed by 0.37."""
ALIVE = ((0.005, 0.15), (0.01, 0.05), (0.03, 0.01))
"""Sizes differ by this share at most, equal blocks are this share at most: a live scene."""
SAME_CHANGE = 0.15
"""Key pictures beside live ones that differ as much as those, give or take this share, and have
no equal blocks either, are live too (their sizes differ while the coder settles)."""
SAME_EQUAL = 0.03
"""... of which no more than this share of blocks is equal."""
LESS_CHANGE = 0.8
"""A pair that differs by no more than this share of what live pairs of its run do is stuck ..."""
SIZE_SLOPE = 0.6
"""... when sizes explain no more: in trials over quantisers 20 to 42 and sensor noise of 0.8 to 2.5
code values the difference of live pairs grew or fell by no more than this power of the size."""
SETTLES_S = 4.5
"""Key pictures that tell nothing for no longer than this, or a single pair of them, in a stream
whose still scenes are alive elsewhere and never stuck: the coder's quality settles."""
LIKE_SIZED = 0.15
"""Sizes of a pair that differ by no more than this share: about one quality."""


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
    sizes: tuple[int, int] = (0, 0)

    @property
    def paired(self) -> bool:
        """Does it lie between two key pictures?"""
        return min(self.sizes) > 0

    @property
    def apart(self) -> float:
        """By what share the two sizes differ; 1 where they are not known."""
        small, large = sorted(self.sizes)
        return 1 - small / large if small > 0 else 1.0


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
    return tuple(span for first, row in rows for span in _spans_of_row(samples, first, row, lives))


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
) -> tuple[int, list[_Piece]]:
    """First sample and pieces of the run from ``first`` to ``last``."""
    onset = onset_of(samples, first, last)
    first = first if onset is None else onset
    pieces = _pieces(samples, first, last, told)
    _mark_ends(pieces, onset is not None, leaves_at_speed(samples, first, last))
    return first, pieces


def _spans_of_row(
    samples: Samples, first: int, pieces: list[_Piece], lives: bool
) -> Iterator[Span]:
    """Stuck and unclear spans of a run. ``lives``: still scenes of the stream are alive."""
    begins, ends = reach(samples.second, samples.end_s, samples.stands)
    last = pieces[-1].last if pieces else first
    for group in _without_life(pieces):
        # What was seen alive before it is no part of it, whatever sizes say.
        start = float((begins if group[0].first == first else samples.second)[group[0].first])
        end = float(ends[group[-1].last])
        if group[-1].last < last:  # ends where the next key picture is another one
            end = float(samples.second[group[-1].last])
        if end - start < FREEZE_SECONDS.value - 1e-6:
            continue
        stuck = any(piece.tells is Tells.STUCK for piece in group)
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
        if stuck:  # it began and ended somewhere between two key pictures
            before, after = pieces.index(group[0]) - 1, pieces.index(group[-1]) + 1
            start = _middle(samples, pieces[before]) if before >= 0 else start
            end = _middle(samples, pieces[after]) if after < len(pieces) else end
        yield Span(start, end, judged, measured, _note(stuck, line))


def _middle(samples: Samples, piece: _Piece) -> float:
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


def _pieces(samples: Samples, first: int, last: int, told: NDArray[np.bool_]) -> list[_Piece]:
    """The run cut at its key pictures, each piece with what it tells."""
    keys = [at for at in range(first, last + 1) if samples.key[at]]
    cuts = sorted({first, *keys, last})
    pieces = [
        _pair(samples, one, two)
        if samples.key[one] and samples.key[two]
        else _Piece(one, two, _crossing(samples, one, two))
        for one, two in pairwise(cuts)
    ]
    for at, piece in enumerate(pieces):
        if told[piece.last] and piece.tells is Tells.NOTHING:
            pieces[at] = replace(piece, tells=Tells.STUCK)
    _beside_life(pieces)
    _spread_life(pieces)
    return pieces


def _mark_ends(pieces: list[_Piece], abrupt: bool, at_speed: bool) -> None:
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


def _pair(samples: Samples, one: int, two: int) -> _Piece:
    """What two neighbouring key pictures tell."""
    change = float(np.median(samples.key_step[two].astype(np.float32)[~BAND]))
    sizes = (int(samples.key_bytes[one]), int(samples.key_bytes[two]))
    equal = float(samples.key_equal[two])
    return _Piece(one, two, pair_tells(samples, one, two), change, equal, sizes)


def pair_tells(samples: Samples, one: int, two: int) -> Tells:
    """What two neighbouring key pictures tell by themselves."""
    equal = float(samples.key_equal[two])
    if np.isnan(equal) and _same(samples, two):
        return Tells.STUCK
    return keys_tell(equal, int(samples.key_bytes[one]), int(samples.key_bytes[two]))


def _same(samples: Samples, at: int) -> bool:
    """Is a key picture the same as the one before, tile by tile, and no even picture?"""
    most = float(samples.key_step[at][~BAND].max())
    structured = (samples.std[at][~BAND] >= STRUCTURE).sum() >= FEWEST_TILES
    return bool(most <= SAME_TILE and structured)


def _beside_life(pieces: list[_Piece]) -> None:
    """Pairs of one quality that differ clearly less than the live pairs of their run are stuck.

    A quantiser changes how much of new noise is seen, so what sizes may explain is let pass.
    """
    live = [
        piece
        for piece in pieces
        if piece.tells is Tells.ALIVE and piece.change > NOISE and piece.apart <= LIKE_SIZED
    ]
    for at, piece in enumerate(pieces):
        if piece.tells is not Tells.NOTHING or piece.apart > LIKE_SIZED or not live:
            continue
        limits = [
            LESS_CHANGE * other.change * np.exp(-SIZE_SLOPE * abs(_log_ratio(piece, other)))
            for other in live
        ]
        if piece.change <= min(limits):
            pieces[at] = replace(piece, tells=Tells.STUCK)


def _log_ratio(one: _Piece, other: _Piece) -> float:
    return float(np.log(np.prod(one.sizes, dtype=float) / np.prod(other.sizes, dtype=float)) / 2)


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
            if end or (alike and piece.equal <= SAME_EQUAL):
                pieces[at] = replace(piece, tells=Tells.ALIVE, change=beside.change)


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
