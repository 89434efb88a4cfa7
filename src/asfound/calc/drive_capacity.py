"""How large a drive really is, from which sectors came back where.

A drive of R bytes that counts round keeps the last one written of all that fall on the same sector:
in a run that fills it, R / SECTOR different sectors are left to be read, whatever was asked for. A
drive that forgets what lies beyond R gives back all before and nothing after.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from asfound.calc.drive_blocks import SECTOR, Came

LOST_SHARE = 0.9
"""Share of what lies beyond that is gone where a drive forgets all of it (own choice)."""
LOST = (Came.EARLIER, Came.BLANK, Came.OTHER)


@dataclass(frozen=True, slots=True)
class Back:
    """``read``: sectors that were read. Of those that are not good, in the order of the run: their
    places among the read ones, their numbers, what came back (Came) and whose content it is (a
    sector's number)."""

    read: int
    places: NDArray[np.int64]
    numbers: NDArray[np.int64]
    came: NDArray[np.int8]
    sources: NDArray[np.int64]

    @property
    def good_bytes(self) -> int:
        """What came back as it was written."""
        return (self.read - len(self.numbers)) * SECTOR


def counts_round_at(back: Back, sampled: bool) -> int | None:
    """Bytes after which the drive begins anew; None: it does not, as far as was seen."""
    moved = back.came == Came.ELSEWHERE
    if not moved.any():
        return None
    if sampled:
        apart = back.sources[moved] - back.numbers[moved]
        return int(np.abs(apart).min()) * SECTOR
    others = np.unique(back.sources[moved])
    # Sources that came back good at their own place as well are counted there.
    hidden = int(np.isin(others, back.numbers).sum())
    damaged = int((~moved).sum())
    return back.good_bytes + (hidden + damaged) * SECTOR


def forgets_from(back: Back, least: float) -> int | None:
    """Byte of the run from which on next to nothing came back; None: there is none such, or less
    than ``least`` [1] of the run lies beyond it."""
    lost = np.flatnonzero(np.isin(back.came, LOST))
    if not len(lost):
        return None
    places = back.places[lost]
    beyond = np.arange(len(lost), 0, -1) / (back.read - places)
    [enough] = np.nonzero(beyond >= LOST_SHARE)
    if not len(enough):
        return None
    first = int(enough[0])
    if back.read - places[first] < max(least * back.read, 2):
        return None
    return int(back.numbers[lost[first]]) * SECTOR


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
