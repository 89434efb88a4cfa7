"""Whether the digits of a burned-in clock can be believed: against rivals, against each other."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

import numpy as np

from asfound.calc.overlay_clock import Course, near
from asfound.calc.overlay_glyphs import Drawn, drawn, looks_like
from asfound.calc.overlay_proof import Line, Rival, line_text, rivals
from asfound.calc.overlay_text import Stamp, moment_of, stamps
from asfound.jobs.prove_clock_looks import Look, Spots
from asfound.model.burned_clock import DAY_S

Begun = tuple[str, date]
"""The order of a date's parts, and the day at the file's start in that order."""

MARGIN = 8.0
"""A rival reading must be less likely by this much, all pictures together (natural logarithm;
tuned on tuning seeds, benchmarks/prove_clock.py)."""

MOVES = 3
"""How often the reading gives way to a likelier one before it is given up."""

OFTEN = 0.25
"""A day that was read this often, beside the one that was read most, is a rival."""

SAMPLES = 3
"""Samples of a digit that are asked for."""

NARROWEST = 0.02
"""Least share of a line that a digit takes: less means that places were found wrong."""


@dataclass(frozen=True, slots=True)
class DaysRead:
    """``stamp``: a line that bears the clock out. ``days``: the day at the file's start, first
    as it was read most, then in the other orders that the line allows; none when the pictures
    do not agree. ``others``: days that were read often as well, in the first order.

    ``started`` are the whole days [s] between the course's seconds and those of the day at the
    start, which most pictures have as ``day``. ``moved``: how much later than they have it the
    clock is, all chances together; ``stamp`` and ``days`` are later by that much already.
    """

    stamp: Stamp
    days: tuple[Begun, ...]
    others: tuple[date, ...]
    started: float = 0.0
    day: date | None = None
    moved: timedelta = timedelta(0)


def agreeing(looks: Sequence[Look], found: Course) -> Iterator[tuple[Look, float]]:
    """Pictures that bear out the first course, with what the clock should show in each [s]."""
    last = len(looks) if found.split is None else found.split
    for number in found.agree:
        if number < last:
            look = looks[number]
            yield look, (found.low + found.high) / 2 + found.rate * look.second


def nearest_stamp(look: Look, expected: float) -> Stamp:
    """The reading nearest to what the clock should show."""
    return min(look.stamps, key=lambda s: abs(near(s.clock_s, expected) - expected))


def days_of(looks: Sequence[Look], found: Course, started: float) -> DaysRead:
    """The day at the file's start as most pictures that bear the clock out have it.
    ``started``: whole days in seconds."""
    votes: Counter[Begun] = Counter()
    held: Counter[Begun] = Counter()
    first: dict[Begun, Stamp] = {}
    seen = list(agreeing(looks, found))
    for look, expected in seen:
        passed = int((expected + started) // DAY_S)
        here: set[Begun] = set()
        for stamp in look.stamps:
            for order, day in stamp.days:
                begun = (order, day - timedelta(days=passed))
                # The first recogniser counts a little more: it decides where both stand alone.
                votes[begun] += 11 if stamp is look.stamps[0] else 10
                here.add(begun)
                first.setdefault(begun, stamp)
        held.update(here)
    best = max(votes, key=lambda begun: votes[begun], default=None)
    if best is None or held[best] < max(2, len(seen) / 2):
        # Fewer than half of all pictures: no date is better than one that may be wrong.
        return DaysRead(nearest_stamp(*seen[0]), (), (), started)
    stamp = first[best]
    # The orders of the same line are ways to understand it, others are other readings of it.
    since = stamp.by_order[best[0]] - best[1]
    days = tuple((order, day - since) for order, day in stamp.days)
    others = tuple(
        day
        for (order, day), count in votes.items()
        if order == best[0] and day != best[1] and count >= OFTEN * votes[best]
    )
    ways = (best, *(begun for begun in days if begun != best))
    return DaysRead(stamp, ways, others, started, best[1])


def best_reading(
    looks: Sequence[Look], found: Course, read: DaysRead
) -> tuple[DaysRead, tuple[Rival, ...]]:
    """The reading that all recognisers, views and pictures together find likeliest, and the
    rivals that come near it. It differs from what most pictures were read as where one view of a
    digit is read wrong throughout and another is not."""
    near_by = _rivals(looks, found, read)
    for _ in range(MOVES):
        if not near_by or near_by[0].margin >= 0:
            break
        read = _moved(found, read, near_by[0].shift)
        near_by = _rivals(looks, found, read)
    return read, near_by


def _rivals(looks: Sequence[Look], found: Course, read: DaysRead) -> tuple[Rival, ...]:
    """Other ways to read the line that are not clearly less likely: another digit, or a day
    that was read often."""
    lines = [
        Line(tuple((one.scores, one.alphabet) for one in look.lattices), _shown(look, when, read))
        for look, when in agreeing(looks, found)
    ]
    order, day = read.days[0] if read.days else ("", None)
    also = [other - day for other in read.others if day is not None and other != day]
    return rivals(lines, read.stamp, order, MARGIN, also)


def _shown(look: Look, expected: float, read: DaysRead) -> datetime:
    """What the clock shows in a picture; of the seconds what was read, not what is computed:
    within a second both are possible."""
    second = near(nearest_stamp(look, expected).clock_s, expected + read.started)
    return moment_of(second, read.day) + read.moved


def _moved(found: Course, read: DaysRead, shift: timedelta) -> DaysRead:
    """The reading, ``shift`` later."""
    moved = read.moved + shift
    begin = moment_of((found.low + found.high) / 2 + read.started, read.day) + moved
    order = read.days[0][0] if read.days else ""
    stamp = stamps(read.stamp.at(begin, order)) or read.stamp
    days: tuple[Begun, ...] = ()
    if read.days:
        ways = ((other, day) for other, day in stamp.days if other != order)
        days = ((order, begin.date()), *ways)
    return replace(read, stamp=stamp, days=days, moved=moved)


def settled_by_samples(
    looks: Sequence[Look],
    found: Course,
    read: DaysRead,
    rival: Rival,
    enlarged: bool = False,
) -> tuple[bool, tuple[str, ...]]:
    """Whether every digit in which the rival differs looks like this clock's own samples of it;
    and the digits of which there are too few samples. ``enlarged``: no more can be had."""
    stamp, order = read.stamp, read.days[0][0] if read.days else ""
    samples = list(_samples(looks, found, read))
    counts = Counter(sample.digit for sample in samples)
    have = {digit for digit, count in counts.items() if count >= SAMPLES}
    seen = list(agreeing(looks, found))
    moment = _shown(*seen[0], read)
    now, other = line_text(stamp, moment, order), line_text(stamp, moment + rival.shift, order)
    wanted = _differing(stamp, now, other)
    if not wanted or not all(a.isdigit() and b.isdigit() for _, a, b, _ in wanted):
        return False, ()
    lacking = {digit for _, a, b, _ in wanted for digit in (a, b)} - have
    if lacking and not enlarged:
        return False, tuple(sorted(lacking))
    for code, digit, against, at in wanted:
        unknown = [one for look, expected in seen for one in _at(look, expected, (code, at), digit)]
        if not looks_like(unknown, samples, digit, against):
            return False, ()
    return True, ()


def _differing(stamp: Stamp, now: str, other: str) -> list[tuple[str, str, str, int]]:
    """(part, digit, other digit, place in the part) where two lines differ."""
    if len(now) != len(other):
        return []
    return [
        (code, now[first + at], other[first + at], at)
        for first, last, code in stamp.parts
        for at in range(last - first)
        if now[first + at] != other[first + at]
    ]


def _samples(looks: Sequence[Look], found: Course, read: DaysRead) -> Iterator[Drawn]:
    """Digits that are known because the clock runs: those of the seconds."""
    if not found.rate:
        return
    for look, expected in agreeing(looks, found):
        seconds = f"{_shown(look, expected, read):%S}"
        for at in (0, 1):
            yield from _at(look, expected, ("S", at), seconds[at])


def _at(look: Look, expected: float, where: tuple[str, int], digit: str) -> Iterator[Drawn]:
    """The digit that stands ``where`` (part, place in it) in this picture."""
    right = nearest_stamp(look, expected).clock_s
    stamp, spots = next(
        pair
        for pair in reversed(list(zip(look.stamps, look.spots, strict=True)))
        if pair[0].clock_s == right
    )
    parts = {name: (first, last) for first, last, name in stamp.parts}
    code, at = where
    if code not in parts or at >= parts[code][1] - parts[code][0]:
        return
    crop, place = spots[parts[code][0] + at]
    pitch = _pitch(stamp, spots, crop)
    if pitch >= NARROWEST:
        yield drawn(look.lines[crop], digit, place, pitch)


def _pitch(stamp: Stamp, spots: Spots, crop: int) -> float:
    """The usual distance of two digits of one part, as a share of the line."""
    gaps = []
    for first, last, _ in stamp.parts:
        for at in range(first, last - 1):
            (one, left), (other, right) = spots[at], spots[at + 1]
            if one == other == crop:
                gaps.append(right - left)
    return float(np.mean(gaps)) if gaps else 0.0
