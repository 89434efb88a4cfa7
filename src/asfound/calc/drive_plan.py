"""Where a test of a drive writes: files in its free space, each of pieces in turn.

All of it, or samples: the first file is written whole, of each further one the first piece alone,
and the file system keeps the rest of it for the file unwritten. With files of length L that is
enough to find any drive that counts round at R bytes while the run is longer than R + L: the pieces
begin at multiples of L, so one of them lies at R + x with 0 <= x < L and overwrites the first file
at x.
"""

from __future__ import annotations

from dataclasses import dataclass

from asfound.calc.drive_blocks import SECTOR
from asfound.units import MIB

MOST_SAMPLES = 500
"""Files that are open at once while they are sampled: well below what systems allow (own
choice)."""


@dataclass(frozen=True, slots=True)
class Sizes:
    """Bytes of a piece, of a file and of a sampled file at least; files are whole pieces."""

    piece: int = MIB
    file: int = 256 * MIB
    sampled: int = 64 * MIB

    @property
    def sectors(self) -> int:
        """Sectors of a piece."""
        return self.piece // SECTOR


@dataclass(frozen=True, slots=True)
class PlannedFile:
    """A file that lies from ``start`` [bytes] of the run and takes ``length``; ``pieces`` by their
    number in the run are written."""

    number: int
    start: int
    length: int
    pieces: range

    def offset(self, piece: int, size: int) -> int:
        """Where in the file a piece of ``size`` bytes lies."""
        return piece * size - self.start


def margin_of(total: int) -> int:
    """Free space that is left alone [bytes]: half a per cent, 16 MiB at least (own choice)."""
    return max(16 * MIB, total // 200)


def plan_test(room: int, sizes: Sizes, sampled: bool) -> tuple[PlannedFile, ...]:
    """Files that fill ``room`` [bytes] but for what is no whole piece; none when it has none."""
    span = room // sizes.piece * sizes.piece
    length = sizes.file
    if sampled:
        each = -(-span // MOST_SAMPLES)
        length = max(sizes.sampled, -(-each // sizes.piece) * sizes.piece)
    files = []
    for number, start in enumerate(range(0, span, length)):
        end = min(start + length, span)
        first = start // sizes.piece
        last = first + 1 if sampled and number else end // sizes.piece
        files.append(PlannedFile(number, start, end - start, range(first, last)))
    return tuple(files)
