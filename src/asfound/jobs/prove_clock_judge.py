"""A burned-in clock held against the file's time and against what a person noted of it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from asfound.calc.overlay_text import moment_of
from asfound.errors import UsageError
from asfound.jobs.read_clock import named_zone
from asfound.model.burned_clock import DAY_S, BurnedClock, ClockState
from asfound.model.finding import Finding, Kind, Recording
from asfound.sources import CLOCK_OFFSET_SECONDS
from asfound.units import clock_text

NEAR_S = 1.5 * DAY_S
"""A day that brings the clock this near to the file's time is borne out by it."""

QUARTER_S = 900.0
"""Zones lie at least a quarter of an hour apart (IANA tz database)."""

FARTHEST_S = 14 * 3600.0
"""UTC+14 is the zone farthest from UTC (IANA tz database)."""

NOTED_STEP_S = 1.0
"""A clock that is noted by eye is right to the second that it shows, no better."""


@dataclass(frozen=True, slots=True)
class ClockAsk:
    """What burned-in clocks are held against.

    ``zone``: whose local time they should show, an IANA name or +HH:MM ("": not said; whole
    quarter hours can then not be told from another zone). ``noted``: (shown, true) as a person
    noted the recorder's clock beside a trusted one, both naive or both aware. ``wanted``: a
    recording without a burned-in clock, or with one that cannot be read for sure, is unclear.
    ``limit_s``: offset that is let pass.
    """

    zone: str = ""
    noted: tuple[datetime, datetime] | None = None
    wanted: bool = False
    limit_s: float = CLOCK_OFFSET_SECONDS.value


def check_ask(ask: ClockAsk) -> None:
    """Raises UsageError when the zone is not known or the limit is no length of time."""
    if ask.zone:
        named_zone(ask.zone)
    if not 0.0 < ask.limit_s <= DAY_S:
        raise UsageError(f"clock limit {ask.limit_s:g} s: give more than 0, at most {DAY_S:.0f} s")


def parse_noted(text: str) -> tuple[datetime, datetime]:
    """SHOWN=TRUE as two times. Raises UsageError."""
    shown, sign, true = text.partition("=")
    try:
        pair = (_time(shown), _time(true))
    except ValueError:
        pair = None
    if not sign or pair is None:
        raise UsageError(
            f"--clock-now {text!r}: write what the clock showed = what was true, "
            '"2026-03-01 14:07:30=2026-03-01 14:03:12"'
        )
    if (pair[0].tzinfo is None) != (pair[1].tzinfo is None):
        raise UsageError(f"--clock-now {text!r}: give both times a zone, or neither")
    return pair


def _time(text: str) -> datetime:
    plain = re.sub(r"\s+", " ", text.strip())
    if not re.match(r"\d{4}-\d{2}-\d{2}[ T]\d{2}:\d{2}:\d{2}", plain):
        raise ValueError(plain)
    return datetime.fromisoformat(plain)


def with_clock(recording: Recording, clock: BurnedClock | None, ask: ClockAsk) -> Recording:
    """The recording with its clock, and findings and doubts about it."""
    if clock is None:
        if not ask.wanted or not recording.width:
            return recording
        return _unclear(recording, "no burned-in clock was found in its pictures")
    clock = _against_file(clock, recording.start, ask.zone)
    if ask.noted is not None:
        clock = _against_noted(clock, ask.noted)
    found = tuple(_findings(recording, clock, ask))
    recording = replace(recording, clock=clock, findings=(*recording.findings, *found))
    if clock.state is ClockState.DOUBTFUL and ask.wanted:
        return _unclear(recording, clock.notes[0] if clock.notes else "the clock is doubtful")
    if ask.wanted and clock.offset_s is None and clock.state is ClockState.RUNS:
        return _unclear(recording, _why_not(clock, recording))
    return recording


def _unclear(recording: Recording, line: str) -> Recording:
    return replace(recording, unclear=(*recording.unclear, line))


def _why_not(clock: BurnedClock, recording: Recording) -> str:
    if recording.start is None:
        return "its burned-in clock has nothing to be held against: the file says no start time"
    if len(clock.days) > 1:
        ways = " or ".join(f"{day:%Y-%m-%d}" for day in clock.days)
        return f"its burned-in date can be read as {ways}"
    return "its burned-in clock shows no date that can be read"


def _against_file(clock: BurnedClock, start: datetime | None, zone: str) -> BurnedClock:
    """The clock with its offset against the file's start; days that the file's time rules out
    are dropped, with a note."""
    if start is None or clock.state in (ClockState.DOUBTFUL, ClockState.STANDS, ClockState.STARTS):
        return clock
    local = start.astimezone(named_zone(zone)).replace(tzinfo=None) if zone else None
    utc = start.astimezone(named_zone("+00:00")).replace(tzinfo=None)
    held = local or utc
    name = f"the file's start, local time of {zone}" if zone else "the file's start in UTC"
    days, notes = clock.days, clock.notes
    if len(days) > 1:
        fitting = tuple(day for day in days if abs(_apart(clock, day, held)) <= NEAR_S)
        if len(fitting) != 1:
            return clock
        notes = (*notes, f"date read as {fitting[0]:%Y-%m-%d}: only so it fits the file's time")
        days = fitting
    if not days:
        return clock
    offset = _apart(clock, days[0], held)
    return replace(clock, days=days, offset_s=offset, against=name, notes=notes)


def _apart(clock: BurnedClock, day: date, held: datetime) -> float:
    """Seconds that the clock is ahead of ``held`` when the file begins."""
    return (moment_of(clock.clock_s, day) - held).total_seconds()


def _against_noted(clock: BurnedClock, noted: tuple[datetime, datetime]) -> BurnedClock:
    """With a line that says what the noted offset means for the pictures' times."""
    off = (noted[0] - noted[1]).total_seconds()
    way = "fast" if off > 0 else "slow"
    line = f"noted beside a trusted clock: {clock_text(abs(off))} {way}"
    if len(clock.days) == 1 and clock.state is ClockState.RUNS:
        true = moment_of(clock.clock_s, clock.days[0]) - timedelta(seconds=off)
        line += f"; so its pictures begin at {true:%Y-%m-%d %H:%M:%S} by the trusted clock"
    return replace(clock, notes=(*clock.notes, line))


def _findings(recording: Recording, clock: BurnedClock, ask: ClockAsk) -> Iterator[Finding]:
    end = recording.duration_s or 0.0
    source = CLOCK_OFFSET_SECONDS.source.cite()

    def found(measured: float | None, note: str, start: float = 0.0, stop: float = end) -> Finding:
        return Finding(Kind.CLOCK_OFFSET, start, stop, measured, ask.limit_s, "s", source, "", note)

    if clock.state is ClockState.STANDS:
        yield found(-end, "the burned-in clock stands still")
    elif clock.state is ClockState.STOPS and clock.change_to_s is not None:
        yield found(
            clock.change_to_s - end, "the burned-in clock stops", clock.change_from_s or 0.0
        )
    elif clock.state is ClockState.STARTS and clock.change_to_s is not None:
        note = "the burned-in clock stands still, then goes on"
        yield found(-clock.change_to_s, note, 0.0, clock.change_to_s)
    elif clock.state is ClockState.JUMPS:
        yield found(
            clock.change_s, _jump_note(clock), clock.change_from_s or 0.0, clock.change_to_s or end
        )
    elif clock.state is ClockState.OTHER_RATE and clock.rate is not None:
        note = f"the burned-in clock goes {clock.rate:.3g} s in a second of the file"
        yield found((clock.rate - 1) * end, note)
    if clock.offset_s is not None and clock.state is not ClockState.DOUBTFUL:
        yield from _offset_finding(clock, ask, found(clock.offset_s, ""))
    if ask.noted is not None:
        off = (ask.noted[0] - ask.noted[1]).total_seconds()
        if abs(off) > ask.limit_s + NOTED_STEP_S:
            yield found(off, f"the clock was {_words(off)} when it was noted")


def _jump_note(clock: BurnedClock) -> str:
    if clock.change_s is None:
        return "the burned-in clock jumps"
    days, rest = divmod(round(abs(clock.change_s)), int(DAY_S))
    far = f"{days} d {clock_text(rest)}" if days else clock_text(rest)
    return f"the burned-in clock jumps {far} {'forward' if clock.change_s > 0 else 'back'}"


def _offset_finding(clock: BurnedClock, ask: ClockAsk, blank: Finding) -> Iterator[Finding]:
    """A finding when no clock within the bounds is within the limit; without a zone, when no
    zone explains it either."""
    off = clock.offset_s or 0.0
    rest = off
    if not ask.zone and abs(off) <= FARTHEST_S:
        rest = off - QUARTER_S * round(off / QUARTER_S)
    if abs(rest) - clock.within_s <= ask.limit_s:
        return
    note = f"the burned-in clock is {_words(off)} against {clock.against}"
    if rest != off:
        note += "; whole quarter hours of it may be the time zone (--zone)"
    if abs(abs(off) - DAY_S / 2) <= ask.limit_s + 1:
        note += "; that is half a day: a 12-hour clock without AM and PM?"
    if abs(off + (blank.end_s - blank.start_s)) <= ask.limit_s + 1:
        note += "; that is the file's length: its time may be that of its end"
    yield replace(blank, note=note)


def _words(off: float) -> str:
    return f"{clock_text(abs(off))} {'fast' if off > 0 else 'slow'}"
