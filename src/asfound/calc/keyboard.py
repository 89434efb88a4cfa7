"""The fewest key presses on an on-screen keyboard, exact over cursor and letter case.

The state is (cap under the cursor, shifted or not). Moving costs one press an edge of the grid,
pressing a cap costs one, SHIFT is a cap to be walked to and pressed. What is typed is fixed by
the texts: take away down to their common beginning (or clear all), then type the rest, then DONE;
taking away more can only cost more. Between caps the walk is a shortest path, so a shortest path
over the layers "next character typed" is exact.
"""

from __future__ import annotations

import heapq
from functools import lru_cache

from asfound.calc.key_values import Presses, merged
from asfound.model.menu_map import Keyboard

Cell = tuple[int, int]
_State = tuple[Cell, bool]
_Cost = tuple[int, int]
"""(presses, runs): fewest presses first, and among those the fewest changes of key."""

DIRECTIONS = ("up", "down", "left", "right")


def neighbour(keyboard: Keyboard, cell: Cell, direction: str) -> Cell:
    """The cap that ``direction`` leads to; ``cell`` itself at an edge without wrap."""
    row, column = cell
    rows = keyboard.rows
    if direction in ("left", "right"):
        column += 1 if direction == "right" else -1
        if keyboard.wrap:
            return row, column % len(rows[row])
        return row, min(max(column, 0), len(rows[row]) - 1)
    row += 1 if direction == "down" else -1
    row = row % len(rows) if keyboard.wrap else min(max(row, 0), len(rows) - 1)
    return row, min(column, len(rows[row]) - 1)


@lru_cache(maxsize=4096)
def walks(keyboard: Keyboard, start: Cell) -> dict[Cell, Presses]:
    """For every cap, the presses that move there from ``start``: fewest, then fewest runs."""
    best: dict[tuple[Cell, str], _Cost] = {(start, ""): (0, 0)}
    came: dict[tuple[Cell, str], tuple[Cell, str]] = {}
    found: dict[Cell, Presses] = {}
    queue: list[tuple[_Cost, Cell, str]] = [((0, 0), start, "")]
    while queue:
        cost, cell, last = heapq.heappop(queue)
        if best[cell, last] < cost:
            continue
        if cell not in found:
            found[cell] = _trace(came, cell, last)
        for direction in DIRECTIONS:
            there = neighbour(keyboard, cell, direction)
            if there == cell:
                continue
            step = (cost[0] + 1, cost[1] + (direction != last))
            if step < best.get((there, direction), (1 << 30, 0)):
                best[there, direction] = step
                came[there, direction] = (cell, last)
                heapq.heappush(queue, (step, there, direction))
    return found


def _trace(came: dict[tuple[Cell, str], tuple[Cell, str]], cell: Cell, last: str) -> Presses:
    moves: list[tuple[str, int]] = []
    while last:
        moves.append((last, 1))
        cell, last = came[cell, last]
    return merged(moves[::-1])


def typing(keyboard: Keyboard, present: str, wanted: str) -> Presses | None:
    """Fewest presses that turn ``present`` into ``wanted``, the keyboard opened once.

    None when a character of ``wanted`` has no cap, or when nothing can be taken away.
    """
    caps = _caps(keyboard)
    start = "" if keyboard.opens_empty else present
    common = 0
    while common < min(len(start), len(wanted)) and start[common] == wanted[common]:
        common += 1
    surplus = len(start) - common
    plans: list[tuple[str, int, str]] = []
    if not surplus:
        plans.append(("", 0, wanted[common:]))
    elif "DELETE" in caps:
        plans.append(("DELETE", surplus, wanted[common:]))
    if start and "CLEAR" in caps:
        plans.append(("CLEAR", 1, wanted))
    typed = [_typing(keyboard, caps, *plan) for plan in plans]
    done = [(cost, presses) for item in typed if item is not None for cost, presses in [item]]
    return min(done)[1] if done else None


def _typing(
    keyboard: Keyboard, caps: dict[str, Cell], remove: str, times: int, text: str
) -> tuple[_Cost, Presses] | None:
    layer: dict[_State, tuple[_Cost, Presses]] = {
        (keyboard.start, False): ((1, 1), (("ok", 1),)),
    }
    if remove:
        layer = _next(keyboard, caps, layer, [(caps[remove], s) for s in (False, True)], times)
    for char in text:
        layer = _next(keyboard, caps, layer, _typed_by(keyboard, char), 1)
    layer = _next(keyboard, caps, layer, [(caps["DONE"], s) for s in (False, True)], 1)
    return min(layer.values()) if layer else None


@lru_cache(maxsize=64)
def _caps(keyboard: Keyboard) -> dict[str, Cell]:
    return {cap: (r, c) for r, row in enumerate(keyboard.rows) for c, cap in enumerate(row)}


@lru_cache(maxsize=4096)
def _typed_by(keyboard: Keyboard, char: str) -> list[_State]:
    """The states in which pressing ``ok`` types ``char``."""
    return [
        (cell, shift)
        for cap, cell in _caps(keyboard).items()
        for shift in (False, True)
        if types(cap, shift) == char
    ]


def types(cap: str, shift: bool) -> str:
    """What a cap types; "" for the caps that do something else."""
    if cap == "SPACE":
        return " "
    if len(cap) != 1:
        return ""
    other = cap.swapcase()
    return other if shift and len(other) == 1 else cap


def _next(
    keyboard: Keyboard,
    caps: dict[str, Cell],
    layer: dict[_State, tuple[_Cost, Presses]],
    goals: list[_State],
    times: int,
) -> dict[_State, tuple[_Cost, Presses]]:
    """The cheapest way to each goal state, with ``ok`` pressed ``times`` times there."""
    reached: dict[_State, tuple[_Cost, Presses]] = {}
    for goal in goals:
        ways = []
        for (cell, shift), (_, presses) in layer.items():
            moves = list(presses)
            if shift != goal[1]:
                if "SHIFT" not in caps:
                    continue
                moves += [*walks(keyboard, cell)[caps["SHIFT"]], ("ok", 1)]
                cell = caps["SHIFT"]
            whole = merged([*moves, *walks(keyboard, cell)[goal[0]], ("ok", times)])
            ways.append(((sum(t for _, t in whole), len(whole)), whole))
        if ways:
            reached[goal] = min(ways)
    return reached
