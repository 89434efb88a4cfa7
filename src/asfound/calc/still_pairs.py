"""Pairs of neighbouring key pictures of a still scene: what each tells by itself, and what it tells
beside the others of its run. See calc.stillness. Limits without a source were chosen on own coding
trials (docs/proof.md) and are held by tests.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum

import numpy as np

from asfound.calc.picture_faults import BAND, NOISE, Samples

EQUAL = 0.05
"""A tile that differs less than this [code values] is coded the same."""
STUCK_SHARE = 0.5
"""Share of equal blocks from which two key pictures show one stuck source."""
SAME_TILE, STRUCTURE, FEWEST_TILES = 0.1, 1.0, 6
"""Too dark for blocks: stuck as well where no tile differs by more than this [code values], while
so many have a standard deviation of STRUCTURE or more. In trials with dark scenes, quantisers 24
to 42 and sensor noise of 0.4 to 1.5 the most different tile of live pairs differed by 0.37."""
COPY_TILE, COPY_MEDIAN, COPY_SIZE, COPY_STRUCTURE, COPY_TILES = 0.5, 0.01, 0.05, 0.5, 0.95
"""... and where so many tiles have structure of their own, as where noise is coded, the median tile
and the most different one change by no more, and sizes are equal within this share (live: 0.1 in
the median tile and more)."""
ALIVE = ((0.005, 0.15), (0.01, 0.05), (0.03, 0.01))
"""Sizes differ by this share at most, equal blocks are this share at most: a live scene."""
SAME_CHANGE = 0.08
"""Key pictures beside live ones that differ as much as those, give or take this share, and have
no equal blocks either, are live too (their sizes differ while the coder settles)."""
SAME_EQUAL = 0.03
"""... of which no more than this share of blocks is equal."""
LESS_CHANGE = 0.88
"""A pair that differs by no more than this share of what live pairs of its run do is stuck ..."""
NOISE_ALONE = 1.5
"""Live pairs that differ by more than this factor from the one that differs least show movement or
light as well, and are no measure."""
LITTLE_NOISE, LESS_OF_LITTLE = 0.05, 0.7
"""... or by this one, where more than that share of their blocks is equal: with next to no noise,
pairs differ by chance ..."""
SIZE_SLOPE = 0.6
"""... when sizes explain no more: in trials over quantisers 20 to 42 and sensor noise of 0.8 to 2.5
code values the difference of live pairs grew or fell by no more than this power of the size."""
CONVERGES, CONVERGED, CONVERGED_EQUAL, GROWN = 0.99, 0.9, 0.02, 1.05
"""Key pictures that grow, by the last factor all together, and differ less and less, each by this
share at most of what the one before does and all together by that, until so many blocks are equal:
they come nearer to one picture. New noise differs more the finer it is coded (own trials: live
pairs of a run 0.94 and more, at most 0.015 equal where sizes are about the same)."""
SPRINGS_BACK = 1.3
"""The pair after them differs by that factor more, or something moves."""
DARK_PAIRS, DARK_CONVERGED, DARK_GROWN = 3, 0.75, 1.2
"""Too dark for blocks: so many pairs or more, that share of the first one's change, that factor."""
LIKE_SIZED = 0.15
"""Sizes of a pair that differ by no more than this share: about one quality."""


class Tells(Enum):
    """What two neighbouring key pictures of a still run say."""

    STUCK = "stuck"
    ALIVE = "alive"
    NOTHING = "nothing"


@dataclass(frozen=True, slots=True)
class Piece:
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


def pair_of(samples: Samples, one: int, two: int) -> Piece:
    """What two neighbouring key pictures tell."""
    change = float(np.median(samples.key_step[two].astype(np.float32)[~BAND]))
    sizes = (int(samples.key_bytes[one]), int(samples.key_bytes[two]))
    equal = float(samples.key_equal[two])
    return Piece(one, two, pair_tells(samples, one, two), change, equal, sizes)


def pair_tells(samples: Samples, one: int, two: int) -> Tells:
    """What two neighbouring key pictures tell by themselves."""
    equal = float(samples.key_equal[two])
    sizes = (int(samples.key_bytes[one]), int(samples.key_bytes[two]))
    if np.isnan(equal) and (_same(samples, two) or _copied(samples, two, sizes)):
        return Tells.STUCK
    return keys_tell(equal, *sizes)


def _same(samples: Samples, at: int) -> bool:
    """Is a key picture the same as the one before, tile by tile, and no even picture?"""
    most = float(samples.key_step[at][~BAND].max())
    structured = (samples.std[at][~BAND] >= STRUCTURE).sum() >= FEWEST_TILES
    return bool(most <= SAME_TILE and structured)


def _copied(samples: Samples, at: int, sizes: tuple[int, int]) -> bool:
    """Is a dark key picture, noise and all, the same as the one before but for a little?"""
    small, large = sorted(sizes)
    change = samples.key_step[at][~BAND].astype(np.float32)
    alike = float(change.max()) <= COPY_TILE and float(np.median(change)) <= COPY_MEDIAN
    full = (samples.std[at][~BAND] >= COPY_STRUCTURE).mean() >= COPY_TILES
    return bool(alike and full and small > 0 and large - small <= COPY_SIZE * large)


def weigh(pieces: list[Piece], moves_on: bool) -> None:
    """Settle in place what pieces of one run tell beside each other; ``moves_on``: after them
    something moves."""
    _beside_life(pieces)
    _converging(pieces, moves_on)
    _spread_life(pieces)


def _beside_life(pieces: list[Piece]) -> None:
    """Pairs of one quality that differ clearly less than the live pairs of their run are stuck.

    A quantiser changes how much of new noise is seen, so the live pair of the nearest size is
    asked, and what sizes may explain is let pass.
    """
    live = _live(pieces)
    for at, piece in enumerate(pieces):
        if piece.tells is not Tells.NOTHING or piece.apart > LIKE_SIZED or not live:
            continue
        if _less_than_live(piece, live):
            pieces[at] = replace(piece, tells=Tells.STUCK)


def _live(pieces: Sequence[Piece]) -> list[Piece]:
    """Pairs of one quality that show new noise, and nothing besides that noise."""
    live = [
        piece
        for piece in pieces
        if piece.tells is Tells.ALIVE and piece.change > NOISE and piece.apart <= LIKE_SIZED
    ]
    most = NOISE_ALONE * min((piece.change for piece in live), default=0.0)
    return [piece for piece in live if piece.change <= most]


def _less_than_live(piece: Piece, live: Sequence[Piece]) -> bool:
    """Does a pair differ clearly less than the live one of the nearest size?"""
    other = min(live, key=lambda one: abs(_log_ratio(piece, one)))
    explained = float(np.exp(-SIZE_SLOPE * abs(_log_ratio(piece, other))))
    less = LESS_CHANGE if other.equal <= LITTLE_NOISE else LESS_OF_LITTLE
    return piece.change <= less * other.change * explained


def _converging(pieces: list[Piece], moves_on: bool) -> None:
    """Rows of pairs that come nearer to one picture, as a coder spends more on it, are stuck if
    that has an end: pictures next to without noise come nearer to each other for good.
    """
    first, live = 0, _live(pieces)
    for at in range(1, len(pieces) + 1):
        if at < len(pieces) and _nearer(pieces[at - 1], pieces[at]):
            continue
        row, first = pieces[first:at], at
        last = row[-1]
        if len(row) < 2 or (live and not _less_than_live(last, live)):
            continue
        after = pieces[at] if at < len(pieces) else None
        if after is not None and after.paired:
            ends = after.change >= SPRINGS_BACK * last.change
        else:
            ends = moves_on
        if ends and _comes_near(row):
            pieces[at - len(row) : at] = [replace(one, tells=Tells.STUCK) for one in row]


def _comes_near(row: Sequence[Piece]) -> bool:
    """Do pairs that differ less and less end near to one picture?"""
    less, grown = row[-1].change / row[0].change, row[-1].sizes[1] / row[0].sizes[0]
    if np.isnan([piece.equal for piece in row]).any():
        return len(row) >= DARK_PAIRS and less <= DARK_CONVERGED and grown >= DARK_GROWN
    alike = row[-1].equal >= max(CONVERGED_EQUAL, row[0].equal)
    return less <= CONVERGED and grown >= GROWN and alike


def _nearer(one: Piece, two: Piece) -> bool:
    """Do two neighbouring pairs, of which nothing is known, differ less and less as they grow?"""
    known = one.tells is not Tells.NOTHING or two.tells is not Tells.NOTHING
    grows = one.paired and two.paired and one.sizes[0] <= one.sizes[1] <= two.sizes[1]
    return not known and grows and one.change > 0 and two.change <= CONVERGES * one.change


def _log_ratio(one: Piece, other: Piece) -> float:
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


def _spread_life(pieces: list[Piece]) -> None:
    """Pieces of one quality that look like live ones of their run, and pieces beside live ones that
    look like them, are live; so are a run's ends beside them."""
    live = [piece for piece in pieces if piece.tells is Tells.ALIVE and piece.change > NOISE]
    for at, piece in enumerate(pieces):
        nothing = piece.tells is Tells.NOTHING and piece.apart <= LIKE_SIZED
        if nothing and any(_like_live(piece, other) for other in live):
            pieces[at] = replace(piece, tells=Tells.ALIVE)
    for order in (range(1, len(pieces)), range(len(pieces) - 2, -1, -1)):
        for at in order:
            beside = pieces[at - 1] if order.step > 0 else pieces[at + 1]
            piece = pieces[at]
            if piece.tells is not Tells.NOTHING or beside.tells is not Tells.ALIVE:
                continue
            end = piece.change == 0.0 and at in (0, len(pieces) - 1)
            if end or _like_live(piece, beside):
                pieces[at] = replace(piece, tells=Tells.ALIVE, change=beside.change)


def _like_live(piece: Piece, live: Piece) -> bool:
    """Does a piece differ as much as a live one, block for block?"""
    alike = abs(piece.change - live.change) <= SAME_CHANGE * live.change
    return alike and piece.equal <= SAME_EQUAL
