"""Whether a read clock can be believed: every other single digit held against all pictures.

Pictures that advance together rule out a wrong digit that changes; a digit that stands still over
the recording (hour, date) could be read wrong the same way in each. So the lines are drawn up as
they would stand had one digit been another, and both are held against what the second recogniser
saw in all pictures (likelihoods by connectionist temporal classification, calc.ctc).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from asfound.calc.ctc import Chances, likelihoods
from asfound.calc.overlay_text import NEWEST, OLDEST, Stamp


@dataclass(frozen=True, slots=True)
class Line:
    """What the second recogniser saw in a picture, and what the clock should show there."""

    chances: Chances
    alphabet: str
    moment: datetime


@dataclass(frozen=True, slots=True)
class Rival:
    """Another way to read the clock: ``shift`` later, and by how much less likely it is in all
    pictures together (natural logarithm; negative: it is the likelier one)."""

    shift: timedelta
    margin: float


def nearest_rival(lines: Sequence[Line], stamp: Stamp, order: str) -> Rival | None:
    """The likeliest other clock that differs in one digit of its first picture."""
    first = lines[0].moment
    shown = line_text(stamp, first, order)
    # Where the line has no place for a digit (the century of a short year) there is no rival.
    shifts = [
        shift
        for shift in _shifts(first, bool(stamp.days), stamp.step_s < 60)
        if line_text(stamp, first + shift, order) != shown
    ]
    total = np.zeros(len(shifts) + 1)
    for line in lines:
        moments = [line.moment, *(_shifted(line.moment, shift) for shift in shifts)]
        texts = [line_text(stamp, moment, order) for moment in moments]
        total += likelihoods(line.chances, line.alphabet, texts)
    if not shifts:
        return None
    best = int(np.argmax(total[1:]))
    return Rival(shifts[best], float(total[0] - total[1 + best]))


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
