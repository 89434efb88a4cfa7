"""What the pictures between two key pictures of a still scene tell: new noise, or one picture
that is refined.

A coder with bytes to spare codes the noise of a live sensor again and again, so every picture
changes a little. From a stuck source it refines one picture until nothing is left to refine: it
still spends bytes, but changes less and less. Limits were chosen on own coding trials with H.264
at constant bit rate, with and without pictures that lean both ways (docs/proof.md).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from asfound.calc.still_pairs import Tells
from asfound.calc.stillness import CHANGED, STRAY_SHARE
from asfound.calc.suspicion import NEW_SHARE, QUIET_SHARE, Key, Seen, Traits, carries_noise

GOES_ON, TAKES_ROOM = 0.14, 0.03
"""Pictures of the last third of a group that change by this share of what key pictures differ by,
in the median tile, and take this share of their bytes: new noise (own trials at constant bit rate:
live 0.15 to 0.4, stuck 0.03 to 0.11) ..."""
SETTLED, SETTLED_MEAN, SETTLED_TILE, REFINED = 0.1, 0.12, 0.5, 4.0
"""... and by no more than this, on average by no more than that (own trials: stuck 0.001 to 0.16,
live 0.17 and more), no tile by more than that, after changing so many times as much: one picture
was refined."""
MOVES, MOVING = 1.5, 2
"""Tiles that change by so many times what key pictures differ by, in so many pictures: movement."""
LESS_THAN_LIVE = 0.3
"""Changes by no more than this share of what live pictures of the stream do, and pictures that
take at least this share of their room."""
MEAN_OF_LEAST = 0.5
"""... and that change on average by no more than this share: noise that is coded now and then is no
refinement."""
FEWEST_LATE = 3
PROBE_LASTS_S, PROBE_ALIKE = 60.0, 1.5
"""What was seen between two key pictures holds so long, while pictures take no more and no less
than this factor ..."""
PROBE_SHRUNK, PROBE_GROWN = 0.25, 1.3
"""... and key pictures between these factors."""


def probe_wanted(before: Traits, key: Key) -> bool:
    """Do ``key`` and the one before show a still scene that may be alive, with pictures between
    that take some room to the end? What they change then shows whether it is."""
    return (
        key.similar
        and not key.empty
        and key.tells is Tells.NOTHING
        and not before.intra
        and before.late_bytes >= QUIET_SHARE * before.key_bytes
    )


@dataclass(frozen=True, slots=True)
class Vouched:
    """What live groups of a scene were like: when the latest was seen [s], bytes of their median
    pictures and key pictures (least, most), and the least of pictures that lean both ways (0:
    none)."""

    second: float
    typical: tuple[float, float]
    key_bytes: tuple[int, int]
    both_ways: float = 0.0

    def covers(self, traits: Traits) -> bool:
        """Is a group so much like them that it shows the same? A source that gets stuck frees
        bytes: pictures between keys shrink, or key pictures grow."""
        alike = self.typical[0] / PROBE_ALIKE <= traits.typical <= PROBE_ALIKE * self.typical[1]
        least, most = PROBE_SHRUNK * self.key_bytes[0], PROBE_GROWN * self.key_bytes[1]
        return self._lasts(traits) and alike and least <= traits.key_bytes <= most

    def spends(self, traits: Traits) -> bool:
        """Do pictures that lean both ways still take what they took, whatever key pictures do?
        Those of a stuck source take a fifth of it and less (own trials at constant bit rate)."""
        room = PROBE_ALIKE * traits.both_ways >= self.both_ways > 0
        return self._lasts(traits) and room and PROBE_ALIKE * traits.typical >= self.typical[0]

    def _lasts(self, traits: Traits) -> bool:
        return traits.start_s - self.second <= PROBE_LASTS_S


def vouched_by(told: Between, before: Vouched | None) -> Vouched | None:
    """``before`` and a group that was looked into; None where that showed no life."""
    seen = told.traits
    if told.tells is not Tells.ALIVE:
        return None
    if before is None or seen.start_s - before.second > 2 * PROBE_LASTS_S:
        of_one = (seen.typical, seen.typical), (seen.key_bytes, seen.key_bytes)
        return Vouched(seen.start_s, *of_one, seen.both_ways)
    typical, keys = (*before.typical, seen.typical), (*before.key_bytes, seen.key_bytes)
    return Vouched(
        max(before.second, seen.start_s),
        (min(typical), max(typical)),
        (min(keys), max(keys)),
        min(before.both_ways, seen.both_ways),
    )


@dataclass(frozen=True, slots=True)
class Between:
    """What the pictures between two key pictures of a still scene do: ``goes_on``, change of the
    median tile from picture to picture in the last third [code values] (NaN: something moves), and
    ``mean``, such changes on average; what it ``tells``."""

    traits: Traits
    goes_on: float
    mean: float
    tells: Tells


def between_tell(
    steps: NDArray[np.float32], seconds: NDArray[np.float64], traits: Traits, change: float
) -> Between:
    """What the pictures between two key pictures of a still scene tell.

    ``steps`` (n x tiles): change of each to the one before [code values], outside the bands;
    ``seconds`` (n): when; ``change``: what the key pictures differ by, in their median tile.
    Noise that is coded changes every picture; one stuck picture is refined until nothing
    changes any more though pictures still take room.
    """
    late = seconds >= traits.end_s - traits.seconds / 3
    if late.sum() < FEWEST_LATE or (~late).sum() < FEWEST_LATE or not 0 < change < np.inf:
        return Between(traits, float("nan"), float("nan"), Tells.NOTHING)
    each = np.median(steps, axis=1)
    goes_on, mean = float(np.median(each[late])), float(each[late].mean())
    passing = (steps > max(CHANGED, MOVES * change)).mean(axis=1) > STRAY_SHARE
    if passing[late].sum() >= MOVING:
        return Between(traits, float("nan"), float("nan"), Tells.ALIVE)
    takes_room = max(traits.typical / TAKES_ROOM, traits.both_ways / NEW_SHARE) >= traits.key_bytes
    if goes_on >= GOES_ON * change and takes_room:
        return Between(traits, goes_on, mean, Tells.ALIVE)
    settled = goes_on <= SETTLED * change and mean <= SETTLED_MEAN * change
    settled &= float(steps[late].mean(axis=0).max()) <= SETTLED_TILE * change
    refined = float(each[~late].max()) >= max(REFINED * goes_on, SETTLED * change)
    return Between(traits, goes_on, mean, Tells.STUCK if settled and refined else Tells.NOTHING)


def lives_on(groups: Sequence[Seen]) -> int | None:
    """Which of a few groups in a row shows noise in its sizes, between key pictures of a still
    scene; the last such (None: none does)."""
    for at in range(len(groups) - 2, -1, -1):
        next_bytes = groups[at + 1].traits.key_bytes
        if groups[at + 1].key.similar and carries_noise(groups[at].traits, next_bytes):
            return at
    return None


def refined_only(seen: Sequence[Between]) -> list[Between]:
    """Those of one stream that change far less than live ones do, though they take room as
    well: one picture is refined there."""
    live = [one for one in seen if one.tells is Tells.ALIVE and one.goes_on > 0]
    if not live:
        return []
    least = LESS_THAN_LIVE * min(one.goes_on for one in live)
    mean = MEAN_OF_LEAST * min(one.mean for one in live)
    room = LESS_THAN_LIVE * min(one.traits.late_bytes for one in live)
    return [
        one
        for one in seen
        if one.tells is Tells.NOTHING
        and one.goes_on <= least
        and one.mean <= mean
        and one.traits.late_bytes >= room
    ]
