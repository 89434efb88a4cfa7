"""A track from a log of NMEA 0183: sentences of one moment together make a fix."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from math import isnan, nan

from asfound.calc.nmea import Sentence, body, parse
from asfound.jobs.gather_fixes import Fix, Gathered
from asfound.model.track_log import FixFault

LONGEST_LINE = 4096
"""A sentence has at most 82 characters; some loggers put their own in front, or lose line ends."""
DAY_S = 86_400.0
FIRST = date(1970, 1, 1)


@dataclass
class _Moment:
    """What was said of one time of day."""

    clock_s: float
    line: int
    fix: bool | None = None
    lat_deg: float = nan
    lon_deg: float = nan
    speed_ms: float = nan
    course_deg: float = nan

    def add(self, said: Sentence) -> None:
        if said.fix is not None:
            # One sentence that knows of no fix is enough.
            self.fix = said.fix and self.fix is not False
        # GGA has most digits.
        known = not isnan(self.lat_deg + self.lon_deg) and said.kind != "GGA"
        if not known and not isnan(said.lat_deg + said.lon_deg):
            self.lat_deg, self.lon_deg = said.lat_deg, said.lon_deg
        if (isnan(self.speed_ms) or said.kind == "RMC") and not isnan(said.speed_ms):
            self.speed_ms = said.speed_ms
        if (isnan(self.course_deg) or said.kind == "RMC") and not isnan(said.course_deg):
            self.course_deg = said.course_deg


@dataclass
class _Dated:
    """The date that goes with a time of day; until one is said, days are counted from 1970."""

    into: Gathered
    day: date = FIRST
    known: bool = False
    clock_s: float = nan

    def at(self, clock_s: float, said: date | None) -> float:
        """Seconds since 1970. Fixes that came before the first date get theirs from it."""
        if clock_s < self.clock_s - DAY_S / 2:
            self.day += timedelta(days=1)
        self.clock_s = clock_s
        if said is not None:
            self.settle(said)
            self.day = said
        return (self.day - FIRST).days * DAY_S + clock_s

    def settle(self, today: date) -> None:
        """``today`` is the date by now, unless one is known."""
        if not self.known:
            self.into.shift((today - self.day).days * DAY_S)
            self.known = True


def read_nmea(lines: Iterable[bytes], into: Gathered, first_day: date | None = None) -> None:
    """Adds the log's fixes. ``first_day``: the date on which it begins, where no sentence says one.

    A line whose checksum is wrong or missing is left out. VTG has no time: it belongs to the moment
    that was told last.
    """
    moment: _Moment | None = None
    dated, said_day = _Dated(into), None
    for number, said in _sentences(lines, into):
        new = not isnan(said.clock_s) and (moment is None or said.clock_s != moment.clock_s)
        if new:
            if moment is not None:
                _end(moment, dated, said_day, into)
            moment, said_day = _Moment(said.clock_s, number), None
        if moment is None:
            continue
        moment.add(said)
        said_day = said.day or said_day
    if moment is not None:
        _end(moment, dated, said_day, into)
    if not dated.known and first_day is not None:
        into.shift((first_day - FIRST).days * DAY_S)
    elif not dated.known:
        into.drop_all(FixFault.NO_DATE, "no sentence tells the date: name it")


def _sentences(lines: Iterable[bytes], into: Gathered) -> Iterator[tuple[int, Sentence]]:
    for number, raw in enumerate(lines, 1):
        if not raw.strip():
            continue
        if len(raw) > LONGEST_LINE:
            into.fault(FixFault.BROKEN, number, f"a line of {len(raw)} characters")
            continue
        text = raw.decode("ascii", "replace").strip()
        # Two sentences stand in one line where a line end was lost.
        pieces = [piece for piece in re.split(r"(?=\$)", text) if piece.startswith("$")]
        if not pieces:
            if not text.startswith(("!", "#")):
                into.fault(FixFault.BROKEN, number, "no sentence begins in it")
            continue
        for piece in pieces:
            said = _sentence(piece, number, into)
            if said is not None:
                yield number, said


def _sentence(piece: str, number: int, into: Gathered) -> Sentence | None:
    inner, right = body(piece)
    if right is None:
        into.fault(FixFault.NO_CHECKSUM, number, "cut off before its checksum, or has none")
        return None
    if not right:
        into.fault(FixFault.CHECKSUM, number, "its checksum is not that of its characters")
        return None
    try:
        return parse(inner)
    except ValueError as error:
        into.fault(FixFault.BROKEN, number, str(error))
        return None


def _end(moment: _Moment, dated: _Dated, day: date | None, into: Gathered) -> None:
    if moment.fix is False:
        # Neither is a date to be trusted that a receiver tells without a fix.
        into.fault(FixFault.NO_FIX, moment.line, "the receiver says that it has no fix")
        return
    at = dated.at(moment.clock_s, day)
    if not isnan(moment.lat_deg + moment.lon_deg):
        into.add(
            Fix(at, moment.lat_deg, moment.lon_deg, moment.speed_ms, moment.course_deg),
            moment.line,
        )
    elif moment.fix is not None:
        into.fault(FixFault.NO_FIX, moment.line, "no position is given")
