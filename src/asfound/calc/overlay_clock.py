"""How a burned-in clock goes, from a few readings of it over a recording.

A clock that shows whole seconds shows them truncated, so each reading bounds the clock:

    shown <= clock(t) < shown + step        [s]

A running clock is clock(t) = c + t with one c for all pictures; that c lies in every picture's
[shown - t, shown - t + step). A reading with a wrong digit lies outside and is outvoted. Days wrap
around: all is counted within one day of 86,400 s.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from asfound.model.burned_clock import DAY_S, ClockState

SLACK_S = 0.3
"""How far a picture's time may be off the moment its clock was drawn (common practice, no
source)."""

ENOUGH = 3
"""Pictures that must agree before a clock is believed."""

SHARE = 0.6
"""Share of the pictures with a reading that must agree."""

MOVED_S = 3.0
"""A clock must have had this long to move before it is said to stand."""


@dataclass(frozen=True, slots=True)
class Sight:
    """One picture: its second in the file and every way its clock was read (seconds of day)."""

    second: float
    readings: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Course:
    """How the clock goes. ``low`` to ``high``: what it showed at second 0 (running) or what it
    stands at; ``agree``: the pictures (by position) that bear it out. Of a clock in two pieces,
    ``then`` is the later piece's bounds and the change lies between pictures ``split`` - 1 and
    ``split``."""

    state: ClockState
    low: float
    high: float
    agree: tuple[int, ...]
    rate: float = 1.0
    split: int | None = None
    then: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class _Piece:
    """A stretch of pictures with one law: running (``rate`` 1) or standing (0)."""

    rate: float
    low: float
    high: float
    agree: tuple[int, ...]


def near(value: float, around: float) -> float:
    """``value`` moved by whole days to within half a day of ``around``."""
    return (value - around + DAY_S / 2) % DAY_S - DAY_S / 2 + around


def course(sights: Sequence[Sight], step: float) -> Course | None:
    """How the clock goes; None when too few pictures agree on anything."""
    read = [number for number, sight in enumerate(sights) if sight.readings]
    if len(read) < ENOUGH:
        return None
    runs = _piece(sights, read, 1.0, step)
    stands = _piece(sights, read, 0.0, step)
    span = sights[read[-1]].second - sights[read[0]].second
    best = runs
    if len(stands.agree) > len(runs.agree):
        best = stands
    if not _loners(read, best.agree) and _enough(best.agree, read):
        return _whole(best, sights, span, step)
    split = _split(sights, read, step)
    if split is not None and len(split.agree) > len(best.agree) + 1:
        return split
    other = _other_rate(sights, read, step)
    if other is not None and len(other.agree) > len(best.agree) + 1:
        return other
    if _enough(best.agree, read) and _lone_each(read, best.agree):
        return _whole(best, sights, span, step)
    return None


def _enough(agree: Sequence[int], read: Sequence[int]) -> bool:
    return len(agree) >= max(ENOUGH, SHARE * len(read))


def _loners(read: Sequence[int], agree: Sequence[int]) -> list[int]:
    return [number for number in read if number not in agree]


def _lone_each(read: Sequence[int], agree: Sequence[int]) -> bool:
    """True when the pictures that disagree do not stand together at the end, as after a jump."""
    out = set(_loners(read, agree))
    ends = (read[:2], read[-2:])
    return not any(all(number in out for number in end) for end in ends)


def _whole(best: _Piece, sights: Sequence[Sight], span: float, step: float) -> Course | None:
    if best.rate:
        return Course(ClockState.RUNS, best.low, best.high, best.agree)
    seconds = [sights[number].second for number in best.agree]
    if max(seconds) - min(seconds) < max(MOVED_S, 2 * step):
        return None
    return Course(ClockState.STANDS, best.low, best.high, best.agree, rate=0.0)


def _piece(sights: Sequence[Sight], numbers: Iterable[int], rate: float, step: float) -> _Piece:
    """The value that most pictures' bounds hold, and those pictures."""
    taken = [number for number in numbers if sights[number].readings]
    bounds = [
        (number, reading - rate * sights[number].second)
        for number in taken
        for reading in sights[number].readings
    ]
    slack = SLACK_S if rate else 0.0
    reach = step if rate else 0.0
    best = _Piece(rate, 0.0, 0.0, ())
    for _, anchor in bounds:
        # Every picture whose bounds reach the anchor's own low end.
        held: dict[int, float] = {}
        for number, at in bounds:
            low = near(at, anchor)
            if -slack <= anchor - low < reach + slack + 1e-9:
                # Of two readings that fit, the first recogniser's.
                held.setdefault(number, low)
        if len(held) > len(best.agree):
            lows = list(held.values())
            low, high = max(lows), min(lows) + reach
            best = _Piece(rate, min(low, high), max(low, high), tuple(sorted(held)))
    return best


def _split(sights: Sequence[Sight], read: Sequence[int], step: float) -> Course | None:
    """Two pieces, each of at least two pictures that agree."""
    best: Course | None = None
    for cut in range(2, len(read) - 1):
        for before, after in ((1.0, 1.0), (1.0, 0.0), (0.0, 1.0)):
            first = _piece(sights, read[:cut], before, step)
            second = _piece(sights, read[cut:], after, step)
            if min(len(first.agree), len(second.agree)) < 2:
                continue
            if not all(_moved(p, sights) for p in (first, second)):
                continue
            agree = (*first.agree, *second.agree)
            if best is None or len(agree) > len(best.agree):
                best = _pieces(first, second, agree, read[cut])
    return best


def _moved(piece: _Piece, sights: Sequence[Sight]) -> bool:
    """Long enough apart that standing and running differ."""
    return sights[piece.agree[-1]].second - sights[piece.agree[0]].second >= 1.5


def _pieces(first: _Piece, second: _Piece, agree: tuple[int, ...], split: int) -> Course:
    state = ClockState.JUMPS
    if not second.rate:
        state = ClockState.STOPS
    elif not first.rate:
        state = ClockState.STARTS
    then = (second.low, second.high)
    return Course(state, first.low, first.high, agree, first.rate, split, then)


def _other_rate(sights: Sequence[Sight], read: Sequence[int], step: float) -> Course | None:
    """One straight line of another slope (Theil-Sen: the median of the slopes of all pairs)."""
    points = [(sights[number].second, float(sights[number].readings[0])) for number in read]
    unwrapped = [points[0]]
    for (_, before), (second, value) in pairwise(points):
        unwrapped.append((second, unwrapped[-1][1] + (value - before) % DAY_S))
    slopes = [
        (v2 - v1) / (s2 - s1)
        for at, (s1, v1) in enumerate(unwrapped)
        for s2, v2 in unwrapped[at + 1 :]
        if s2 > s1
    ]
    if not slopes:
        return None
    rate = float(np.median(slopes))
    rest = np.asarray([value - rate * second for second, value in unwrapped])
    middle = float(np.median(rest))
    agree = tuple(n for n, off in zip(read, rest, strict=True) if abs(off - middle) <= step)
    if rate <= 0 or not _enough(agree, read) or len(agree) < ENOUGH + 1:
        return None
    return Course(ClockState.OTHER_RATE, middle, middle + step, agree, rate)
