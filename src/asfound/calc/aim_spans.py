"""From when to when a recording's aim differs from an earlier picture's."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from asfound.calc.aim import APART, WIDTH, Aim, Field, aim_of, fits, staying, turned_fields

FEWEST = 3
"""Fewer pictures than this are no recording to judge aim by."""
FAIR, FAIR_TIMES = 3.5, 1.25
"""As calc.aim.CLEAR and TIMES, for what two parts of a recording agree on against a third."""
WINDOW = 3
"""Pictures that are averaged to tell which aim holds at one of them."""


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
    it holds only what stays in view.
    """
    count = len(fields)
    if count < FEWEST:
        return None
    parts = [staying(fields[first:stop]) for first, stop in _parts(count)]
    matched = [aim_of(part, references) for part in parts]
    sure = [at for at, aim in enumerate(matched) if aim.sure]
    if not sure:
        return None
    base = max(sure, key=lambda at: matched[at].clear)
    turned = turned_fields(parts[base])
    found = [Aim(0.0, 0.0, 0.0, np.inf, 0.0)]
    against = [aim_of(part, turned) for part in parts]
    for aim in against:
        fair = aim.clear >= FAIR and aim.clear >= FAIR_TIMES * aim.next_clear
        agreed = fair and sum(_same(aim, other) for other in against) >= 2
        if (aim.sure or agreed) and not any(_same(aim, other) for other in found):
            found.append(aim)
    best = _best_at_each(fields, turned, found)
    edges = [0, *(np.flatnonzero(np.diff(best)) + 1).tolist(), count]
    return tuple(
        Held(first, stop - 1, _added(matched[base], found[best[first]]))
        for first, stop in pairwise(edges)
    )


def _parts(count: int) -> list[tuple[int, int]]:
    """The whole, halves, thirds and quarters of a row, where they are long enough."""
    out = []
    for parts in (1, 2, 3, 4):
        cuts = np.linspace(0, count, parts + 1).round().astype(int).tolist()
        out += [(first, stop) for first, stop in pairwise(cuts) if stop - first >= FEWEST]
    return out


def _added(base: Aim, more: Aim) -> Aim:
    """One aim after the other: what is turned has turned about the middle of the picture."""
    turn = np.radians(more.turn)
    right = base.right * np.cos(turn) - base.down * np.sin(turn) + more.right
    down = base.right * np.sin(turn) + base.down * np.cos(turn) + more.down
    return Aim(float(right), float(down), base.turn + more.turn, base.clear, base.next_clear)


def _best_at_each(
    fields: Sequence[NDArray[np.int8]], references: Sequence[Field], found: Sequence[Aim]
) -> NDArray[np.intp]:
    """Which aim fits best at each picture; one cut through the row where two alternate."""
    if len(found) == 1:
        return np.zeros(len(fields), np.intp)
    single = np.array([
        [fits(staying([field]), references, aim) for aim in found] for field in fields
    ])  # fmt: skip
    kernel = np.ones(WINDOW) / WINDOW
    reach = WINDOW // 2
    padded = np.pad(single, ((reach, reach), (0, 0)), mode="edge")
    smooth = np.stack([np.convolve(line, kernel, "valid") for line in padded.T], axis=1)
    return np.asarray(smooth.argmax(axis=1), np.intp)


def _same(one: Aim, two: Aim) -> bool:
    apart = np.hypot(one.right - two.right, one.down - two.down) * WIDTH / 100
    return bool(apart < APART and abs(one.turn - two.turn) < 2)
