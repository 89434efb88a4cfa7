"""A log of positions, whatever its form: GPX, NMEA 0183 or CSV, told apart by how it begins."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from itertools import chain

from asfound.calc.plain_text import plain
from asfound.calc.week_rollover import TURN_S, early_turns
from asfound.errors import InputError
from asfound.jobs.csv_rows import split_lines
from asfound.jobs.gather_fixes import MOST_BYTES, Gathered
from asfound.jobs.read_gpx import read_gpx
from asfound.jobs.read_nmea import read_nmea
from asfound.jobs.read_track_csv import CsvForm, read_track_csv
from asfound.model.track_log import TrackLog

BEGIN = 8192


@dataclass(frozen=True, slots=True)
class ReadTrack:
    """A log called ``name`` as it comes in ``chunks``. ``csv``: how to read a CSV. ``day``: about
    when it was made, from a person: by it dates that are 1024 weeks early are put right, and logs
    without any date begin on it. ``today``: early dates are told by it when no day is said."""

    name: str
    chunks: Iterable[bytes]
    csv: CsvForm = field(default_factory=CsvForm)
    day: date | None = None
    today: date | None = None


def read_track(request: ReadTrack) -> TrackLog:
    """The log. Raises InputError (no log of positions, too large, nothing in it can be used) and
    UsageError (a column is missing)."""
    into = Gathered(request.name)
    stream = _limited(request)
    begin = b""
    for chunk in stream:
        begin += chunk
        if len(begin) >= BEGIN:
            break
    if not begin.strip():
        raise InputError(f"{plain(request.name)}: is empty; give GPX, NMEA 0183 or CSV")
    chunks = chain([begin], stream)
    if is_xml(begin):
        read_gpx(chunks, into)
    elif is_nmea(begin):
        read_nmea(split_lines(chunks), into, request.day)
    else:
        read_track_csv(split_lines(chunks), into, request.csv)
    return _dates(into, request)


def is_xml(begin: bytes) -> bool:
    """Whether a file that begins so is XML (UTF-8 or UTF-16)."""
    head = begin.removeprefix(b"\xef\xbb\xbf").lstrip()
    return head.startswith((b"<", b"\xff\xfe<", b"\xfe\xff\0<"))


def is_nmea(begin: bytes) -> bool:
    """Whether one of its first lines has a sentence in it."""
    lines = begin.splitlines()[:50]
    return any(b"$" in line and line[line.index(b"$") + 1 :][:1].isupper() for line in lines)


def _limited(request: ReadTrack) -> Iterator[bytes]:
    total = 0
    for chunk in request.chunks:
        total += len(chunk)
        if total > MOST_BYTES:
            raise InputError(
                f"{plain(request.name)}: larger than {MOST_BYTES >> 20} MiB; cut it by days"
            )
        yield chunk


def _dates(into: Gathered, request: ReadTrack) -> TrackLog:
    log_end = into.latest_s
    if log_end != log_end:
        return into.made()
    if request.day is not None:
        turns = early_turns(log_end, _seconds(request.day))
        if turns:
            into.shift(turns * TURN_S)
        made = into.made()
        if not turns:
            return made
        note = f"dates were {turns * 1024} weeks too early and are put right by the day named"
        return replace(made, notes=(note, *made.notes), early_weeks=turns * 1024)
    made = into.made()
    turns = early_turns(log_end, _seconds(request.today)) if request.today is not None else 0
    if not turns:
        return made
    end = datetime.fromtimestamp(log_end, UTC)
    note = (
        f"its last date, {end:%Y-%m-%d}, is {turns * 1024} weeks before the last two years: if the "
        "receiver's week counter turned over, name the day on which the log was made"
    )
    return replace(made, notes=(note, *made.notes))


def _seconds(day: date) -> float:
    return datetime(day.year, day.month, day.day, 12, tzinfo=UTC).timestamp()
