"""Where on the drive the sectors of a run lie, where the file system tells it.

File systems do not always fill a drive from its start: the n-th sector of a run may lie anywhere.
What comes back from another place, or not at all, gives a drive's size only by places.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from asfound.calc.drive_blocks import SECTOR


@dataclass(frozen=True, slots=True)
class Extent:
    """``length`` bytes of a file from ``offset`` on lie at ``place`` of the drive [bytes]."""

    offset: int
    place: int
    length: int


@dataclass(frozen=True, slots=True)
class Places:
    """Sectors of the run from ``starts`` on, ``lengths`` of them, lie at ``places`` [sectors]."""

    starts: NDArray[np.int64]
    lengths: NDArray[np.int64]
    places: NDArray[np.int64]

    def of(self, numbers: NDArray[np.int64]) -> NDArray[np.int64]:
        """Where these sectors of the run lie; -1: not told."""
        if not len(self.starts):
            return np.full(len(numbers), -1, np.int64)
        at = np.searchsorted(self.starts, numbers, side="right") - 1
        inside = (at >= 0) & (numbers < self.starts[at] + self.lengths[at])
        return np.where(inside, self.places[at] + numbers - self.starts[at], -1)


def places_of(files: Iterable[tuple[int, Sequence[Extent]]]) -> Places:
    """Of files with where they begin in the run [bytes], in that order; what does not lie in whole
    sectors is left out."""
    rows = [
        (start + one.offset, one.length, one.place)
        for start, extents in files
        for one in sorted(extents, key=lambda extent: extent.offset)
        if not (one.offset % SECTOR or one.length % SECTOR or one.place % SECTOR)
    ]
    made = np.array(rows, np.int64).reshape(len(rows), 3) // SECTOR
    return Places(made[:, 0], made[:, 1], made[:, 2])


def blind_share(starts: NDArray[np.int64], piece: int) -> float:
    """Share of the false sizes between a piece and the whole run that pieces of ``piece`` sectors
    at ``starts`` [sectors] would miss.

    A drive that counts round after R sectors shows it where two pieces lie R apart, so that one
    falls on the other by a sector at least.
    """
    apart = np.unique(np.abs(starts[:, None] - starts[None, :]))
    if len(apart) < 2:
        return 1.0
    missed = np.maximum(np.diff(apart) - 2 * (piece - 1) - 1, 0).sum()
    return float(missed / max(int(apart[-1]) - piece, 1))
