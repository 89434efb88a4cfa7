"""Fixes gathered from a log line by line; what cannot be true is left out and counted."""

from __future__ import annotations

from array import array
from collections import Counter
from dataclasses import dataclass, field
from math import isfinite, nan

import numpy as np

from asfound.calc.fix_order import FASTEST_MS, onward, reachable
from asfound.calc.plain_text import plain
from asfound.errors import InputError
from asfound.model.drive_log import LogFault, Track
from asfound.model.track_log import FixFault, TrackLog

MOST_FIXES = 5_000_000
"""Two months of one fix a second, day and night."""
MOST_BYTES = 512 << 20
NAMED = 10
"""Faults of a kind that are named by their line; the rest is counted."""


@dataclass(frozen=True, slots=True)
class Fix:
    """A line's fix: ``time_s`` [s since 1970, UTC], degrees, m/s, degrees; nan: not said."""

    time_s: float
    lat_deg: float = nan
    lon_deg: float = nan
    speed_ms: float = nan
    course_deg: float = nan


@dataclass
class Gathered:
    """Collects the fixes and faults of the log called ``name``."""

    name: str
    counts: Counter[FixFault] = field(default_factory=Counter)
    faults: list[LogFault] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    early_weeks: int = 0
    _lines: array[int] = field(default_factory=lambda: array("q"))
    _columns: tuple[array[float], ...] = field(
        default_factory=lambda: tuple(array("d") for _ in range(5))
    )

    def fault(self, kind: FixFault, line: int, what: str) -> None:
        """Counts a fault and names it unless there were many."""
        self.counts[kind] += 1
        if self.counts[kind] <= NAMED:
            where = f"{plain(self.name)}:{line}" if line else plain(self.name)
            self.faults.append(LogFault(where, plain(what)))

    def add(self, fix: Fix, line: int) -> None:
        """A fix of this line. Raises InputError when there are too many."""
        if not (fix.lat_deg != fix.lat_deg or abs(fix.lat_deg) <= 90) or not (
            fix.lon_deg != fix.lon_deg or abs(fix.lon_deg) <= 180
        ):
            self.fault(FixFault.RANGE, line, "a latitude or longitude beyond the Earth's")
            return
        speed = fix.speed_ms
        if speed == speed and not 0 <= speed <= FASTEST_MS:
            self.fault(FixFault.RANGE, line, f"a speed of {speed * 3.6:.0f} km/h is left out")
            speed = nan
        if len(self._lines) >= MOST_FIXES:
            raise InputError(f"{self.name}: more than {MOST_FIXES} fixes; cut it by days")
        self._lines.append(line)
        course = fix.course_deg % 360 if isfinite(fix.course_deg) else nan
        values = (fix.time_s, fix.lat_deg, fix.lon_deg, speed, course)
        for column, value in zip(self._columns, values, strict=True):
            column.append(value)

    def shift(self, seconds: float) -> None:
        """Puts every time later by ``seconds``."""
        times = self._columns[0]
        for index, at in enumerate(times):
            times[index] = at + seconds

    def drop_all(self, kind: FixFault, what: str) -> None:
        """Leaves out every fix so far, each a fault."""
        for line in self._lines:
            self.fault(kind, line, what)
        del self._lines[:]
        for column in self._columns:
            del column[:]

    @property
    def latest_s(self) -> float:
        """The latest time [s]; nan without fixes."""
        return max(self._columns[0], default=nan)

    def made(self) -> TrackLog:
        """The log. Raises InputError when no fix is left, or positions only jump about."""
        columns = [np.frombuffer(each, np.float64) for each in self._columns]
        lines = np.frombuffer(self._lines, np.int64)
        if not len(lines):
            raise InputError(f"{plain(self.name)}: no fix can be used{self._why()}")
        kept = onward(columns[0])
        times = columns[0]
        known = set(times[kept].tolist())
        for index in np.flatnonzero(~kept).tolist():
            again = times[index] in known
            kind = FixFault.REPEATED if again else FixFault.BACK
            what = "this time was there before" if again else "the time goes back or jumps ahead"
            self.fault(kind, int(lines[index]), what)
        columns, lines = [each[kept] for each in columns], lines[kept]
        try:
            near, jumps = reachable(*columns[:3])
        except ValueError as error:
            name = plain(self.name)
            raise InputError(f"{name}: {error}; give the log of one vehicle") from None
        for index in np.flatnonzero(~near).tolist():
            self.fault(FixFault.JUMP, int(lines[index]), "no vehicle gets here in that time")
        if jumps:
            times_word = "once" if jumps == 1 else f"{jumps} times"
            self.notes.append(f"positions jump {times_word}, with many fixes on either side")
        track = Track(*(each[near] for each in columns))
        return TrackLog(
            self.name,
            track,
            dict(self.counts),
            tuple(self.faults),
            tuple(self.notes),
            self.early_weeks,
        )

    def _why(self) -> str:
        if not self.counts:
            return "; give a log with times"
        kind, number = self.counts.most_common(1)[0]
        first = self.faults[0]
        return f": {number} x {kind}, first {first.where}: {first.what}"
