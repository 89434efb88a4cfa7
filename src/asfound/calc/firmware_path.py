"""The shortest way from one firmware version to another, step by step as the rules allow.

Breadth first, so no way with fewer steps exists (E. F. Moore, 1959); among ways of equal length
the one over newer images. Names of files play no part anywhere.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from asfound.calc.version_order import Key
from asfound.model.firmware import Image

Rank = Callable[[str], Key]
"""The place of a version in its model's order."""


@dataclass(frozen=True, slots=True)
class Known:
    """``usable``: images that may be put on at all. ``same_hardware``: every image for this
    hardware, usable or not: what one of them forbids holds wherever it was installed."""

    rank: Rank
    usable: Sequence[Image]
    same_hardware: Sequence[Image]


def barred(image: Image, over: str, known: Known) -> tuple[str, ...]:
    """Why ``image`` must not be put over the version ``over``; nothing when it may."""
    rank, now = known.rank, known.rank(over)
    lines = []
    if image.needs and now < rank(image.needs):
        lines.append(f"needs at least {image.needs}, {over} is older")
    if image.stones and now not in {rank(stone) for stone in image.stones}:
        lines.append(f"goes only over {' or '.join(image.stones)}, not over {over}")
    if now in {rank(one) for one in image.not_over}:
        lines.append(f"must not be put over {over}")
    # A floor stays in force in every later version, also in one that the catalogue lacks.
    floors = [one for one in known.same_hardware if one.floor and rank(one.version) <= now]
    for one in floors:
        if rank(image.version) < rank(one.floor):
            lines.append(f"since {one.version} nothing older than {one.floor} may follow")
    return tuple(dict.fromkeys(lines))


def shortest_way(start: str, goal: Image, known: Known) -> tuple[Image, ...] | None:
    """Images to put on one after the other, ``goal`` last; None when there is no allowed way.

    Every step goes towards the goal: an update never goes back on its way, nor the other way round.
    """
    rank = known.rank
    up = rank(goal.version) > rank(start)
    low, high = sorted((rank(start), rank(goal.version)))
    between = [image for image in known.usable if low <= rank(image.version) <= high]
    between.sort(key=lambda image: rank(image.version), reverse=True)
    seen = {rank(start)}
    ways: list[tuple[str, tuple[Image, ...]]] = [(start, ())]
    while ways:
        longer: list[tuple[str, tuple[Image, ...]]] = []
        for at, way in ways:
            for image in between:
                place = rank(image.version)
                onward = place > rank(at) if up else place < rank(at)
                if not onward or place in seen or barred(image, at, known):
                    continue
                if image == goal:
                    return (*way, image)
                seen.add(place)
                longer.append((image.version, (*way, image)))
        ways = longer
    return None
