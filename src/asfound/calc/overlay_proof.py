"""Whether a read clock can be believed: every other single digit held against all pictures.

Pictures that advance together rule out a wrong digit that changes; a digit that stands still over
the recording (hour, date) could be read wrong the same way in each. So the lines are drawn up as
they would stand had one digit been another, and both are held against what each recogniser saw in
all pictures and views (likelihoods by connectionist temporal classification, calc.ctc). Recognisers
and views of one picture are no independent witnesses: their logarithms are averaged, not added.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from asfound.calc.ctc import Chances, likelihoods
from asfound.calc.overlay_text import NEWEST, OLDEST, Stamp

ILLEGIBLE = 5.0
"""A recogniser that finds even its likeliest reading less likely than another finds its own by
this much a picture (natural logarithm) has not read the line: it would take one digit for another
in several places at once."""


@dataclass(frozen=True, slots=True)
class Line:
    """What was seen in a picture, as (chances, alphabet) of each recogniser and view, the same
    ones in the same order for each picture, and what the clock should show there."""

    seen: tuple[tuple[Chances, str], ...]
    moment: datetime


@dataclass(frozen=True, slots=True)
class Rival:
    """Another way to read the clock: ``shift`` later, and by how much less likely it is in all
    pictures together (natural logarithm; negative: it is the likelier one)."""

    shift: timedelta
    margin: float


def rivals(
    lines: Sequence[Line], stamp: Stamp, order: str, within: float, also: Sequence[timedelta] = ()
) -> tuple[Rival, ...]:
    """Other clocks that differ in one digit of the first picture, or by one of ``also``, and are
    less likely by less than ``within``; the likeliest first."""
    if not lines:
        return ()
    first = lines[0].moment
    shown = line_text(stamp, first, order)
    # Where the line has no place for a digit (the century of a short year) there is no rival.
    shifts = [
        shift
        for shift in dict.fromkeys((*also, *_shifts(first, bool(stamp.days), stamp.step_s < 60)))
        if line_text(stamp, first + shift, order) != shown
    ]
    each = np.zeros((len(lines[0].seen), len(shifts) + 1))
    for line in lines:
        moments = [line.moment, *(_shifted(line.moment, shift) for shift in shifts)]
        texts = [line_text(stamp, moment, order) for moment in moments]
        for number, (chances, alphabet) in enumerate(line.seen):
            each[number] += likelihoods(chances, alphabet, texts)
    total = _heard(each, len(lines)).mean(axis=0)
    found = [
        Rival(shift, float(total[0] - other))
        for shift, other in zip(shifts, total[1:], strict=True)
        if total[0] - other < within
    ]
    return tuple(sorted(found, key=lambda rival: rival.margin))


def _heard(each: NDArray[np.float64], pictures: int) -> NDArray[np.float64]:
    """Of recognisers and views (rows) those that could read the line in some way."""
    best = each.max(axis=1) / pictures
    return np.asarray(each[best >= best.max() - ILLEGIBLE])


def line_text(stamp: Stamp, moment: datetime | None, order: str) -> str:
    """The line at ``moment``; a moment that does not exist is as unlikely as none."""
    return stamp.at(moment, order) if moment is not None else "\0"


def _shifted(moment: datetime, shift: timedelta) -> datetime | None:
    try:
        return moment + shift
    except OverflowError:
        return None


def _shifts(moment: datetime, dated: bool, seconds: bool) -> Iterator[timedelta]:
    """From ``moment`` to every moment that differs from it in one digit, or in half a day."""
    digits = f"{moment:%Y%m%d%H%M%S}" if moment.year >= 1000 else f"{moment.year:04d}"
    seen = set()
    for at in range(0 if dated else 8, 14 if seconds else 12):
        for digit in "0123456789":
            text = digits[:at] + digit + digits[at + 1 :]
            try:
                other = datetime.strptime(text, "%Y%m%d%H%M%S")
            except ValueError:
                continue
            if not OLDEST <= other.year <= NEWEST:
                continue
            if other != moment.replace(microsecond=0) and other not in seen:
                seen.add(other)
                yield other - moment.replace(microsecond=0)
    yield timedelta(hours=12 if moment.hour < 12 else -12)
