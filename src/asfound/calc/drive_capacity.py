"""How large a drive really is, from which sectors came back where.

A drive of R bytes that counts round keeps the last one written of all that fall on the same sector:
what comes back from another place lies a multiple of R away from where it was written. A drive that
forgets what lies beyond R gives back all before and nothing after.

Where the file system does not tell places (calc.drive_places), it is taken to fill the drive from
its start on, as it does with an empty stick. Then R / SECTOR different sectors of a run over all of
a drive that counts round are left to be read.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from asfound.calc.drive_blocks import SECTOR, Came
from asfound.calc.drive_places import Places

LOST_SHARE = 0.9
"""Share of what lies beyond that is gone where a drive forgets all of it (own choice)."""
LOST = (Came.EARLIER, Came.BLANK, Came.OTHER)


@dataclass(frozen=True, slots=True)
class Back:
    """``pieces`` of ``sectors`` each were read: the number of the first sector of each. Of sectors
    that are not good, in the order of the run: their numbers, what came back (Came) and whose
    content it is (a sector's number)."""

    pieces: NDArray[np.int64]
    sectors: int
    numbers: NDArray[np.int64]
    came: NDArray[np.int8]
    sources: NDArray[np.int64]

    @property
    def read(self) -> int:
        """Sectors that were read."""
        return len(self.pieces) * self.sectors

    @property
    def good_bytes(self) -> int:
        """What came back as it was written."""
        return (self.read - len(self.numbers)) * SECTOR


def counts_round_at(back: Back, places: Places, sampled: bool) -> int | None:
    """Bytes after which a drive begins anew that gave back what lies elsewhere; None: it gave
    nothing such. Without places, and with files between the free ones, rather too few."""
    moved = back.came == Came.ELSEWHERE
    apart = distances(back, places)
    if not len(apart):
        return None
    if sampled or known(back, places):
        return int(apart.min()) * SECTOR
    others = np.unique(back.sources[moved])
    # Sources that came back good at their own place as well are counted there.
    hidden = int(np.isin(others, back.numbers).sum())
    damaged = int((~moved).sum())
    return back.good_bytes + (hidden + damaged) * SECTOR


def known(back: Back, places: Places) -> bool:
    """Whether the file system tells where all lies that was read."""
    return bool((places.of(back.pieces) >= 0).all())


def distances(back: Back, places: Places) -> NDArray[np.int64]:
    """How far what came back from elsewhere lies from its own place [sectors]."""
    moved = back.came == Came.ELSEWHERE
    own, source = back.numbers[moved], back.sources[moved]
    if known(back, places):
        own, source = places.of(own), places.of(source)
        told = (source >= 0) & (source != own)
        own, source = own[told], source[told]
    apart: NDArray[np.int64] = np.abs(source - own)
    return apart


@dataclass(frozen=True, slots=True)
class End:
    """From where on next to nothing came back: the sector of the run and, where places are told,
    the byte of the drive. ``share`` [1] of what was read lies beyond."""

    number: int
    place: int | None
    share: float


def forgets_from(back: Back, places: Places) -> End | None:
    """Where a drive begins to forget; None: it does not, as far as was seen."""
    lost = back.numbers[np.isin(back.came, LOST)]
    if not len(lost):
        return None
    told, placed = places.of(back.pieces), known(back, places)
    order = np.argsort(told if placed else back.pieces, kind="stable")
    each = np.searchsorted(lost, back.pieces + back.sectors) - np.searchsorted(lost, back.pieces)
    gone = each[order]
    beyond = np.cumsum(gone[::-1])[::-1] / (np.arange(len(gone), 0, -1) * back.sectors)
    # The piece in which it begins may be good for the most part: its own end counts.
    [enough] = np.nonzero((gone > 0) & (np.append(beyond[1:], 1.0) >= LOST_SHARE))
    if not len(enough):
        return None
    at = int(enough[0])
    first = int(back.pieces[order[at]])
    number = int(lost[np.searchsorted(lost, first)])
    place = int(told[order[at]]) + number - first if placed else None
    return End(
        number, None if place is None else place * SECTOR, (len(gone) - at) / max(len(gone), 1)
    )


def spans(back: Back) -> list[tuple[int, int, Came]]:
    """What is not good, as (first byte of the run, length, what): neighbours of a kind in one."""
    if not len(back.numbers):
        return []
    breaks = np.flatnonzero((np.diff(back.numbers) != 1) | (np.diff(back.came) != 0)) + 1
    edges = [0, *breaks.tolist(), len(back.numbers)]
    return [
        (int(back.numbers[a]) * SECTOR, (b - a) * SECTOR, Came(int(back.came[a])))
        for a, b in pairwise(edges)
    ]
