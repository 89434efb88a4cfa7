"""Blocks that know their place: what a test writes on a drive, and what came back.

A piece is a row of sectors of 4096 bytes, numbered through the whole run. Each begins with a head:
a mark, the run's token, its own number and a check of both; the rest is pseudo-random from token
and piece (NumPy's SFC64), so that no controller can squeeze or share it. A sector that comes back
as another one tells from where: the drive has fewer sectors than it says and counts round.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

SECTOR = 4096
"""Bytes of a block: what drives and file systems handle as one at most (Advanced Format)."""
MARK = np.uint64(0x7C1F_A55E_D0C4_B10C)
MIX = np.uint64(0x9E37_79B9_7F4A_7C15)
"""An odd number without pattern (2^64 over the golden ratio): spreads what it multiplies."""
FEW_BITS = SECTOR * 8 // 100
"""So many wrong bits are errors of reading; more is other content (own choice)."""
WORDS = SECTOR // 8


class Came(IntEnum):
    """What came back for a sector."""

    GOOD = 0
    ELSEWHERE = 1
    """The content of another sector of the same run."""
    EARLIER = 2
    """The content of an earlier run: what was written now is lost."""
    BLANK = 3
    """One byte again and again: what was written is lost."""
    BITS = 4
    """A few bits are wrong."""
    OTHER = 5
    """Anything else."""
    MISSING = 6
    """Nothing: the file is shorter, or the drive refused."""


@dataclass(frozen=True, slots=True)
class PieceRead:
    """Of each sector of a piece what came back (Came), and of those ELSEWHERE whose content it is
    (a sector's number; else its own); ``bits``: wrong ones in all sectors with few of them."""

    came: NDArray[np.int8]
    sources: NDArray[np.int64]
    bits: int = 0


def make_piece(token: int, number: int, sectors: int) -> NDArray[np.uint8]:
    """Piece ``number`` of a run: ``sectors`` x SECTOR bytes."""
    words = _words(token, number, sectors)
    return words.view(np.uint8).reshape(sectors, SECTOR)


def _words(token: int, number: int, sectors: int) -> NDArray[np.uint64]:
    words = np.random.SFC64([token, number]).random_raw(sectors * WORDS).reshape(sectors, WORDS)
    numbers = np.arange(number * sectors, (number + 1) * sectors, dtype=np.uint64)
    words[:, 0] = MARK
    words[:, 1] = np.uint64(token)
    words[:, 2] = numbers
    words[:, 3] = _check(words[:, 1], numbers)
    return words


def _check(tokens: NDArray[np.uint64], numbers: NDArray[np.uint64]) -> NDArray[np.uint64]:
    mixed: NDArray[np.uint64] = (numbers * MIX) ^ (tokens * MIX) ^ (tokens >> np.uint64(7))
    return mixed


def compare_piece(token: int, number: int, sectors: int, data: bytes | memoryview) -> PieceRead:
    """What came back for a piece; ``data`` may be shorter than it."""
    whole = len(data) // SECTOR
    came = np.full(sectors, Came.MISSING, np.int8)
    sources = np.arange(number * sectors, (number + 1) * sectors, dtype=np.int64)
    wanted = _words(token, number, sectors)[:whole]
    got = np.frombuffer(data, np.uint64, whole * WORDS).reshape(whole, WORDS)
    came[:whole] = np.where((got == wanted).all(axis=1), Came.GOOD, Came.OTHER)
    bits = 0
    bad = np.flatnonzero(came[:whole] != Came.GOOD)
    if len(bad):
        kinds, places, bits = _told(got[bad], wanted[bad])
        came[bad] = kinds
        moved = kinds == Came.ELSEWHERE
        sources[bad[moved]] = places[moved]
    return PieceRead(came, sources, bits)


def _told(
    got: NDArray[np.uint64], wanted: NDArray[np.uint64]
) -> tuple[NDArray[np.int8], NDArray[np.int64], int]:
    """Of sectors that are not what they should be: what they are, whose, and wrong bits."""
    ours = (got[:, 0] == MARK) & (got[:, 3] == _check(got[:, 1], got[:, 2]))
    same = got[:, 1] == wanted[:, 1]
    wrong = np.unpackbits((got ^ wanted).view(np.uint8), axis=1).sum(axis=1, dtype=np.int64)
    few = wrong <= FEW_BITS
    single = got[:, :1] & np.uint64(0xFF)
    blank = (got == single * np.uint64(0x0101_0101_0101_0101)).all(axis=1)
    kinds = np.select(
        [few, blank, ours & same & (got[:, 2] != wanted[:, 2]), ours & ~same],
        [Came.BITS, Came.BLANK, Came.ELSEWHERE, Came.EARLIER],
        Came.OTHER,
    ).astype(np.int8)
    return kinds, got[:, 2].astype(np.int64), int(wrong[few].sum())
