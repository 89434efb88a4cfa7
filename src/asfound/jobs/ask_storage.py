"""What was typed about a drive and what is recorded on it, as a request for the sums."""

from __future__ import annotations

import re
from collections.abc import Sequence

from asfound.calc.days_kept import Load, Room, around
from asfound.calc.ignition_hours import recorded_hours
from asfound.errors import UsageError
from asfound.jobs.asked import Fields, figure, needed, quantity, share, text_of
from asfound.jobs.size_storage import Events, Measured, SizeStorage, measured_loads
from asfound.units import BYTES, RATES

SPREAD = "20%"
"""How far rates lie either way, for want of measured ones (own choice)."""
FILE_SYSTEM = "2%"
"""Share that the file system's tables take (common practice, no source)."""
CHANNELS = re.compile(r"\s*(\d{1,3})\s*[x×*]\s*(.+)")
SPAN = re.compile(r"(\d{1,2}):(\d\d)\s*[-–]\s*(\d{1,2}):(\d\d)")
TIMES = {"s": 1.0, "min": 60.0, "h": 3600.0}
NAMES = (
    "drive", "channels", "audio", "hours", "ignition", "run_on", "week", "reserve", "events",
    "event_length", "file_system", "spread", "promised", "lawful",
)  # fmt: skip
"""The fields: drive 1TB · channels 4x2Mbit/s, 2x512kbit/s · audio 64kbit/s · hours 12, or ignition
05:30-13:00, 15:00-23:30 and run_on 30min · week 5 (days) · reserve 10% or 50GB · events 3 a day of
event_length 90s · file_system, spread: shares · promised, lawful: days."""


def ask_storage(fields: Fields, measured: Sequence[Measured] = ()) -> SizeStorage:
    """The request; ``measured`` rates take the place of typed ones. Raises UsageError."""
    hours = _hours(fields)
    wide = share(text_of(fields, "spread", SPREAD), "spread")
    if measured:
        loads = measured_loads(measured, hours, wide)
    else:
        audio = text_of(fields, "audio")
        sound = quantity(audio, "audio", RATES) if audio else 0.0
        said = needed(fields, "channels", "4x2Mbit/s")
        parts = [part for part in re.split(r"[,;\n]", said) if part.strip()]
        loads = tuple(_load(part.strip(), hours, sound, wide) for part in parts)
    size = quantity(needed(fields, "drive", "1TB"), "drive", BYTES)
    reserve = text_of(fields, "reserve", "0%")
    kept = size * share(reserve, "reserve") if "%" in reserve else _bytes(reserve, "reserve")
    room = Room(size, share(text_of(fields, "file_system", FILE_SYSTEM), "file_system"), kept)
    week = text_of(fields, "week", "7")
    return SizeStorage(
        loads,
        room,
        _days(fields, "promised"),
        _days(fields, "lawful"),
        figure(week, "week", 0.25, 7),
        _events(fields),
    )


def _bytes(text: str, name: str) -> float:
    return quantity(text, name, BYTES) if text.strip("0") else 0.0


def _hours(fields: Fields) -> float:
    hours, pattern = text_of(fields, "hours"), text_of(fields, "ignition")
    run_on = text_of(fields, "run_on")
    if hours and pattern:
        raise UsageError("hours and ignition were both given: say one of them")
    if not hours and not pattern:
        raise UsageError("say hours a day, or when the ignition is on: 05:30-13:00, 15:00-23:30")
    if hours:
        if run_on:
            raise UsageError("run_on: hours a day have it in them; it goes with ignition times")
        found = figure(hours, "hours", 0, 24)
        if not found:
            raise UsageError(f"hours {hours}: a day has more than 0 and at most 24")
        return found
    spans = []
    for part in re.split(r"[,;]", pattern):
        span = SPAN.fullmatch(part.strip())
        if span is None:
            raise UsageError(f"ignition: {part.strip()!r} is no time from and until: 05:30-13:00")
        begin, end = _clock(span[1], span[2]), _clock(span[3], span[4])
        spans.append((begin, end))
    longer = quantity(run_on, "run_on", TIMES, 86_400.0) / 3600 if run_on else 0.0
    return recorded_hours(spans, longer)


def _clock(hours: str, minutes: str) -> float:
    if int(hours) > 24 or int(minutes) > 59 or (int(hours) == 24 and int(minutes)):
        raise UsageError(f"ignition: there is no {hours}:{minutes} o'clock")
    return int(hours) + int(minutes) / 60


def _load(text: str, hours: float, audio: float, spread: float) -> Load:
    found = CHANNELS.fullmatch(text)
    if found is None or not int(found[1]):
        raise UsageError(f"channels {text!r}: write a number and a rate, 4x2Mbit/s")
    rate = quantity(found[2].strip(), "channels", RATES)
    return Load(around(rate, spread), hours, int(found[1]), audio)


def _days(fields: Fields, name: str) -> float | None:
    text = text_of(fields, name)
    if not text:
        return None
    found = figure(text, name, 0, 99_999)
    if not found:
        raise UsageError(f"{name} {text} is no number of days")
    return found


def _events(fields: Fields) -> Events | None:
    a_day, length = text_of(fields, "events"), text_of(fields, "event_length")
    if not a_day and not length:
        return None
    if not a_day or not length:
        raise UsageError("events a day and their length go together: 3 and 90s")
    return Events(
        figure(a_day, "events", 0, 10_000), quantity(length, "event_length", TIMES, 86_400.0)
    )
