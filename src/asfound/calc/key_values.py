"""The fewest key presses that change a value, for everything but typed text.

Presses are named by the attributes of ``model.menu_map.Keys`` ("plus", "ok", ...), so that the same
functions serve recorders whose keys are printed differently. All functions are exact: no other
sequence of keys is shorter under the semantics of ``Keys``.
"""

from __future__ import annotations

import datetime
from decimal import Decimal

from asfound.model.kinds import Choice, Date, FieldType, IPv4, Level, Number, Switch, Time
from asfound.model.menu_map import Keys

Presses = tuple[tuple[str, int], ...]
"""(attribute of Keys, how many times in a row), in order."""

YEARS = (2000, 2099)
"""The years a date is set to part by part (see Keys)."""


def steps_of(kind: FieldType) -> int | None:
    """How many values a stepped type has; None for the types that are not stepped."""
    match kind:
        case Choice():
            return len(kind.options)
        case Switch():
            return 2
        case Number():
            return len(kind.words) + int((kind.maximum - kind.minimum) / kind.step) + 1
        case Level():
            return kind.maximum - kind.minimum + 1
        case _:
            return None


def position(kind: FieldType, value: str) -> int:
    """Where canonical ``value`` stands among the values of a stepped type, from 0."""
    match kind:
        case Choice():
            return kind.options.index(value)
        case Switch():
            return int(value == "on")
        case Number() if value in kind.words:
            return kind.words.index(value)
        case Number():
            return len(kind.words) + int((Decimal(value) - kind.minimum) / kind.step)
        case Level():
            return int(value) - kind.minimum
        case _:
            raise ValueError(f"{kind.kind} values are not stepped")


def change(keys: Keys, kind: FieldType, old: str, new: str) -> Presses | None:
    """The fewest presses from ``old`` to ``new``, from the row and back to it.

    None when the keys cannot produce ``new`` (a year that parts do not reach), and for typed
    text, which ``calc.keyboard`` knows about. Both values are canonical.
    """
    if old == new:
        return ()
    count = steps_of(kind)
    if count is not None:
        coarse = keys.coarse if isinstance(kind, Number | Level) else 1
        start, end = position(kind, old), position(kind, new)
        inside = step_presses(count, start, end, coarse, keys.value_wrap)
    else:
        parts = _parts(keys, kind, old, new)
        if parts is None:
            return None
        inside = part_presses(parts)
    if count is not None and keys.edit == "direct":
        return inside
    return (("ok", 1), *inside, ("ok", 1))


def step_presses(count: int, start: int, end: int, coarse: int, wrap: bool) -> Presses:
    """Fewest ``minus``/``plus``/coarse presses from position ``start`` to ``end`` of ``count``."""
    if wrap:
        fine, jumps = _fewest_round(count, end - start, coarse)
        return _sorted_presses(fine, jumps)
    plans = []
    fine, jumps = _fewest_straight(end - start, coarse if coarse < count else 1)
    plans.append(_within(count, start, fine, jumps, coarse))
    if coarse > 1:
        for edge, name in ((count - 1, "plus_coarse"), (0, "minus_coarse")):
            # A jump that stops at the end makes a new starting point. Going there takes
            # at least distance / coarse presses, and that many are enough.
            there = -(-abs(edge - start) // coarse)
            fine, jumps = _fewest_straight(end - edge, coarse if coarse < count else 1)
            plans.append(merged([(name, there), *_within(count, edge, fine, jumps, coarse)]))
    return min(plans, key=lambda plan: (sum(times for _, times in plan), len(plan)))


def _fewest_round(count: int, distance: int, coarse: int) -> tuple[int, int]:
    """Least |fine| + |jumps| with fine + coarse * jumps = distance + any number of rounds."""

    def cost(plan: tuple[int, int]) -> int:
        return abs(plan[0]) + abs(plan[1])

    best = _fewest_straight(distance, coarse)
    rounds = 1
    # No press moves further than coarse, so more rounds soon cost more than the best plan.
    while rounds * count - abs(distance) < coarse * cost(best):
        for turned in (rounds * count, -rounds * count):
            plan = _fewest_straight(distance + turned, coarse)
            if cost(plan) < cost(best):
                best = plan
        rounds += 1
    return best


def _fewest_straight(distance: int, coarse: int) -> tuple[int, int]:
    """Least |fine| + |jumps| with fine + coarse * jumps = distance."""
    if coarse == 1:
        return distance, 0
    low = distance // coarse
    return min(
        ((distance - coarse * jumps, jumps) for jumps in (low, low + 1)),
        key=lambda plan: (abs(plan[0]) + abs(plan[1]), abs(plan[1])),
    )


def _within(count: int, start: int, fine: int, jumps: int, coarse: int) -> Presses:
    """The presses in an order that never runs into an end.

    Jumps go first wherever they fit whole; one that does not fit waits for fine steps the other
    way, which must be left then (coarse < count).
    """
    done: list[tuple[str, int]] = []
    at = start
    while fine or jumps:
        jump = coarse if jumps > 0 else -coarse
        if jumps and 0 <= at + jump < count:
            done.append(("plus_coarse" if jumps > 0 else "minus_coarse", 1))
            at += jump
            jumps -= 1 if jumps > 0 else -1
        else:
            step = 1 if fine > 0 else -1
            done.append(("plus" if fine > 0 else "minus", 1))
            at += step
            fine -= step
    return merged(done)


def _sorted_presses(fine: int, jumps: int) -> Presses:
    return merged(
        [
            ("plus_coarse" if jumps > 0 else "minus_coarse", abs(jumps)),
            ("plus" if fine > 0 else "minus", abs(fine)),
        ]
    )


def merged(presses: list[tuple[str, int]]) -> Presses:
    """Neighbouring presses of the same key as one; none with zero times."""
    out: list[tuple[str, int]] = []
    for name, times in presses:
        if out and out[-1][0] == name:
            out[-1] = (name, out[-1][1] + times)
        elif times:
            out.append((name, times))
    return tuple(out)


def part_presses(parts: list[tuple[int, int]]) -> Presses:
    """Presses over segments given as (steps forward, steps in the whole round).

    The cursor starts on the first segment and need not come back: the last segment that
    changes is as far as it goes.
    """
    done: list[tuple[str, int]] = []
    moves = 0
    for forward, rounds in parts:
        forward %= rounds
        if forward:
            done.append(("next_part", moves))
            moves = 0
            backward = rounds - forward
            done.append(("plus", forward) if forward <= backward else ("minus", backward))
        moves += 1
    return merged(done)


def _parts(keys: Keys, kind: FieldType, old: str, new: str) -> list[tuple[int, int]] | None:
    digits = keys.segments == "digits"
    before, after = _segments(kind, old, digits), _segments(kind, new, digits)
    if before is None or after is None:
        return None
    return [(b[0] - a[0], a[1]) for a, b in zip(before, after, strict=True)]


def _segments(kind: FieldType, value: str, digits: bool) -> list[tuple[int, int]] | None:
    """(value, how many values the segment has) for each segment in the order shown."""
    match kind:
        case Time():
            ranges = (24, 60, 60)
            parts = [(part, ranges[i], 2) for i, part in enumerate(map(int, value.split(":")))]
        case Date():
            day = datetime.date.fromisoformat(value)
            if not digits and not YEARS[0] <= day.year <= YEARS[1]:
                return None
            by_name = {
                "YYYY": (day.year, YEARS[1] - YEARS[0] + 1, 4),
                "MM": (day.month, 12, 2),
                "DD": (day.day, 31, 2),
            }
            layout = kind.layout.replace("/", "-").replace(".", "-")
            parts = [by_name[name] for name in layout.split("-")]
        case IPv4():
            parts = [(int(part), 256, 3) for part in value.split(".")]
        case _:
            return None
    if digits:
        text = "".join(f"{part:0{width}d}" for part, _, width in parts)
        return [(int(digit), 10) for digit in text]
    return [(part, rounds) for part, rounds, _ in parts]
