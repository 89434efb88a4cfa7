"""From when to when a recording's aim differs from an earlier picture's."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from asfound.calc.aim import (
    APART,
    HEIGHT,
    WIDTH,
    Aim,
    Field,
    aim_of,
    fits,
    staying,
    turned_fields,
)
from asfound.sources import AIM_SHIFT

FEWEST = 3
"""Fewer pictures than this are no recording to judge aim by."""
FAIR, FAIR_TIMES = 3.3, 1.2
"""As calc.aim.CLEAR and TIMES, for what two parts of a recording agree on against a third."""
CHANGE = 4.0
"""Standard deviations by which two aims, in all, must explain pictures better than one does, for
the camera to have moved between them (own choice)."""
MOST_AIMS = 5
"""Aims that a recording is taken to have at most: those that stand out most."""
STAYS, STANDING = 0.8, 0.5
"""An edge stays when so much of its direction is left on average; a vehicle stands when so many
of the edges stay: then the surroundings stay as well, and match anything (own trials: driving 0.1
to 0.45, standing 0.55 to 1)."""


@dataclass(frozen=True, slots=True)
class Held:
    """From picture ``first`` to ``last`` the camera aims like this."""

    first: int
    last: int
    aim: Aim


def aims(
    fields: Sequence[NDArray[np.int8]], references: Sequence[Field]
) -> tuple[Held, ...] | None:
    """Rows of pictures and their aim, in order; None when no match is clear.

    The part of the recording that matches the earlier picture best is the measure for the rest:
    it holds only what stays in view. A standing vehicle may be told to have kept its aim, no more.
    """
    count = len(fields)
    if count < FEWEST:
        return None
    windows = _windows(count)
    parts = [staying(fields[first:stop]) for first, stop in windows]
    matched = [aim_of(part, references) for part in parts]
    stands = np.array([_stands(fields[first:stop]) for first, stop in windows])
    # Noise hides that a part stands; what its neighbours do tells.
    stands |= stands.mean() > 0.5
    sure = [
        at
        for at, aim in enumerate(matched)
        if aim.sure and (not stands[at] or (aim.shift < AIM_SHIFT.value and aim.turn == 0))
    ]
    if not sure:
        return None
    base = max(sure, key=lambda at: matched[at].clear)
    turned = turned_fields(parts[base])
    found = [Aim(0.0, 0.0, 0.0, np.inf, 0.0)]
    against = sorted((aim_of(part, turned) for part in parts), key=lambda aim: -aim.clear)
    for aim in against:
        fair = aim.clear >= FAIR and aim.clear >= FAIR_TIMES * aim.next_clear
        agreed = fair and sum(_same(aim, other) for other in against) >= 2
        known = any(_same(aim, one) for one in found)
        if (aim.sure or agreed) and not known and len(found) < MOST_AIMS:
            found.append(aim)
    best = _best_at_each(fields, turned, found)
    edges = [0, *(np.flatnonzero(np.diff(best)) + 1).tolist(), count]
    return tuple(
        Held(first, stop - 1, _added(matched[base], found[best[first]]))
        for first, stop in pairwise(edges)
    )


def _windows(count: int) -> list[tuple[int, int]]:
    """The whole of a row, its halves, and thirds and sixths that overlap by half."""
    out = [(0, count)]
    for share in (2, 3, 6):
        size = count // share
        if size >= FEWEST:
            starts = np.linspace(0, count - size, 2 if share == 2 else 2 * share - 1)
            out += [(first, first + size) for first in starts.round().astype(int).tolist()]
    if count < 6 * FEWEST:
        for size in (FEWEST, FEWEST + 1):
            out += [(first, first + size) for first in range(count - size + 1)]
    return sorted(set(out))


def _stands(fields: Sequence[NDArray[np.int8]]) -> bool:
    """Do most of the edges stay where they are?"""
    total = np.zeros((HEIGHT, WIDTH, 2), np.float32)
    seen = np.zeros((HEIGHT, WIDTH), np.float32)
    for field in fields:
        total += field
        seen += field.any(axis=2)
    kept = np.hypot(total[..., 0], total[..., 1]) / 100
    often = seen > len(fields) / 2
    return bool(often.any() and (kept[often] >= STAYS * seen[often]).mean() > STANDING)


def _added(base: Aim, more: Aim) -> Aim:
    """One aim after the other: what is turned has turned about the middle of the picture."""
    turn = np.radians(more.turn)
    right = base.right * np.cos(turn) - base.down * np.sin(turn) + more.right
    down = base.right * np.sin(turn) + base.down * np.cos(turn) + more.down
    return Aim(float(right), float(down), base.turn + more.turn, base.clear, base.next_clear)


def _best_at_each(
    fields: Sequence[NDArray[np.int8]], references: Sequence[Field], found: Sequence[Aim]
) -> NDArray[np.intp]:
    """Which aim holds at each picture: the row that fits best, each change paid for (A. J.
    Viterbi, IEEE Transactions on Information Theory 13(2), 1967; from memory)."""
    count, kinds = len(fields), len(found)
    if kinds == 1:
        return np.zeros(count, np.intp)
    fit = np.array([[fits(staying([field]), references, aim) for aim in found] for field in fields])
    total, came = fit[0], np.zeros((count, kinds), np.intp)
    for at in range(1, count):
        ways = total[:, None] - CHANGE / 2 * (1 - np.eye(kinds))
        came[at] = ways.argmax(axis=0)
        total = ways.max(axis=0) + fit[at]
    best = np.zeros(count, np.intp)
    best[-1] = int(total.argmax())
    for at in range(count - 1, 0, -1):
        best[at - 1] = came[at, best[at]]
    return best


def _same(one: Aim, two: Aim) -> bool:
    apart = np.hypot(one.right - two.right, one.down - two.down) * WIDTH / 100
    return bool(apart < APART and abs(one.turn - two.turn) < 2)
