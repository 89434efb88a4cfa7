"""Readings of a clock: from lines that a person wrote, and from visits that photographed it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import UTC, tzinfo

from asfound.calc.clock_drift import OffsetRead
from asfound.calc.log_values import TimeForm, log_time, number
from asfound.calc.plain_text import plain
from asfound.errors import UsageError
from asfound.jobs.read_clock import clock_moments
from asfound.jobs.visit_journal import Desk, load_visit
from asfound.model.visit import VisitState
from asfound.model.visit_line import LineQuery

WITHIN_S = 1.0
"""How well a clock is read that shows seconds, unless more is said (common practice)."""
MOST = 1000
MOST_VISITS = 200
"""Of a vehicle, newest first."""
SHOWS = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d", re.ASCII)
PARTS = re.compile(r"\s*[;,]\s*|\s+(?=[+-]?[\d.,]+\s*s?\b(?!-))|\s+(?=\d{4}-)|\t", re.ASCII)
BLANK = re.compile(r"(?<=\d{4}-\d\d-\d\d) (?=\d\d:)", re.ASCII)
"""Between date and time, where others write a T."""
HINT = "write true time and offset: 2026-03-01T08:00:00Z +2.5 (seconds; ahead is +)"


def read_lines(lines: Iterable[str], zone: tzinfo = UTC) -> tuple[OffsetRead, ...]:
    """A reading a line: true time, then how far the recorder is ahead [s] or what it shows, then
    how well it was read [s] if that is known; between them commas, semicolons or blanks. ``zone``:
    of times without offset. Raises UsageError naming the line."""
    made = []
    for count, line in enumerate(lines, 1):
        text = line.strip()
        if not text or text.startswith("#") or (count == 1 and not re.search(r"\d", text)):
            continue
        made.append(_reading(text, count, zone))
        if len(made) > MOST:
            raise UsageError(f"more than {MOST} readings; give those of one recorder")
    return tuple(made)


def read_visits(visits: Sequence[VisitState]) -> tuple[OffsetRead, ...]:
    """What visits photographed of the clock, as found and as left. Readings whose photographs
    contradict each other, or whose zone is not sure, are no measure of drift and left out."""
    made = {}
    for state in visits:
        for _, reading in clock_moments(state):
            clock = reading.clock
            taken = [photo.taken for photo in reading.photos if photo.taken is not None]
            aware = [at for at in taken if at.utcoffset() is not None]
            if clock is None or clock.contradictory or not clock.zone_sure or not aware:
                continue
            at = min(aware).timestamp()
            made[at] = OffsetRead(at, clock.offset_s, clock.within_s)
    return tuple(made[at] for at in sorted(made))


def vehicle_readings(number: str, *, desk: Desk) -> tuple[OffsetRead, ...]:
    """What the visits of a vehicle photographed of its clock. Raises StorageError,
    IntegrityError."""
    lines = desk.store.lines(LineQuery((number,), None, MOST_VISITS))
    return read_visits([load_visit(line.id, store=desk.store, blobs=desk.blobs) for line in lines])


def _reading(text: str, count: int, zone: tzinfo) -> OffsetRead:
    whole = BLANK.sub("T", text)
    parts = [part for part in PARTS.split(whole) if part and part.strip()]
    if len(parts) not in (2, 3):
        raise UsageError(f"reading {count}: {plain(text)[:60]!r}: {HINT}")
    try:
        at = log_time(parts[0], TimeForm.ISO, zone)
        if SHOWS.match(parts[1]):
            offset = log_time(parts[1], TimeForm.ISO, zone) - at
        else:
            offset = number(parts[1].removesuffix("s").strip())
        within = number(parts[2].removesuffix("s").lstrip("±").strip()) if parts[2:] else WITHIN_S
    except ValueError as error:
        raise UsageError(f"reading {count}: {plain(str(error))}; {HINT}") from None
    if not (0 <= within <= 1e6 and abs(offset) <= 1e9):
        raise UsageError(f"reading {count}: {plain(text)[:60]!r} cannot be; {HINT}")
    return OffsetRead(at, offset, within)
