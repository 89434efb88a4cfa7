"""The fewest key presses between rows of a page and between pages of a menu.

Breadth-first search over the menu's own small graph: its states are where the cursor can be, its
edges are key presses, so the first path found is a shortest one.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

from asfound.calc.key_values import Presses, merged
from asfound.model.menu_map import Keys

S = TypeVar("S")

Place = tuple[int, int] | tuple[int, int, int]
"""Flat: (0, page). Two-level: (0, group) on the groups, (1, group, page in it) on a list of pages,
(2, group, page in it) on a page."""


def row_moves(count: int, start: int, end: int, wrap: bool) -> Presses:
    """Presses of ``up``/``down`` from row ``start`` to ``end`` of ``count`` rows to stop on."""
    down = end - start
    if wrap:
        down %= count
        if down > count - down:
            down -= count
    return merged([("down" if down > 0 else "up", abs(down))])


def shortest(start: S, goal: S, edges: Callable[[S], Iterator[tuple[str, S]]]) -> Presses:
    """Fewest presses from ``start`` to ``goal``; ValueError when there is no way."""
    came: dict[S, tuple[str, S] | None] = {start: None}
    queue = deque([start])
    while queue and goal not in came:
        state = queue.popleft()
        for key, there in edges(state):
            if there not in came:
                came[there] = (key, state)
                queue.append(there)
    if goal not in came:
        raise ValueError(f"no keys lead from {start} to {goal}")
    presses: list[tuple[str, int]] = []
    while (step := came[goal]) is not None:
        presses.append((step[0], 1))
        goal = step[1]
    return merged(presses[::-1])


class MenuGraph:
    """The pages of one firmware's menu, by their number from 0, and the way between them.

    ``groups`` has one entry a page (None throughout in a flat menu); pages of a group stand
    together.
    """

    def __init__(self, keys: Keys, groups: Sequence[str | None]) -> None:
        self._keys = keys
        self._pages = len(groups)
        names = list(dict.fromkeys(groups))
        self._sizes = [sum(group == name for group in groups) for name in names]
        self._firsts = [groups.index(name) for name in names]
        self._group_of = [names.index(group) for group in groups]

    def opening(self) -> Place:
        """Where the cursor is when the menu opens."""
        return (0, 0)

    def page(self, number: int) -> Place:
        """The place of page ``number``."""
        if self._keys.layout == "flat":
            return (0, number)
        group = self._group_of[number]
        return (2, group, number - self._firsts[group])

    def left(self, number: int) -> Place:
        """Where the cursor is when page ``number`` was left with ``back`` (two-level)."""
        group = self._group_of[number]
        return (1, group, number - self._firsts[group])

    def way(self, start: Place, goal: Place) -> Presses:
        """Fewest presses between two places."""
        flat = self._keys.layout == "flat"
        return shortest(start, goal, self._flat_edges if flat else self._level_edges)

    def _flat_edges(self, place: Place) -> Iterator[tuple[str, Place]]:
        for key, step in (("next_page", 1), ("previous_page", -1)):
            there = _stepped(place[1], step, self._pages, self._keys.page_wrap)
            yield key, (0, there)

    def _level_edges(self, place: Place) -> Iterator[tuple[str, Place]]:
        wrap = self._keys.row_wrap
        level, group = place[0], place[1]
        for key, step in (("down", 1), ("up", -1)):
            if level == 0:
                yield key, (0, _stepped(group, step, len(self._sizes), wrap))
            elif level == 1 and len(place) == 3:
                yield key, (1, group, _stepped(place[2], step, self._sizes[group], wrap))
        if level == 0:
            yield "ok", (1, group, 0)
        elif len(place) == 3:
            yield "back", (0, group) if level == 1 else (1, group, place[2])
            if level == 1:
                yield "ok", (2, group, place[2])


def _stepped(at: int, step: int, count: int, wrap: bool) -> int:
    return (at + step) % count if wrap else min(max(at + step, 0), count - 1)
