"""Times as they are typed and shown: RFC 3339 with offset, spans, seconds of a recording."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from asfound.calc.plain_text import plain
from asfound.errors import UsageError
from asfound.model.coverage import Period

STAMP = re.compile(r"\d{4}-\d\d-\d\d[Tt ]\d\d:\d\d(:\d\d(\.\d+)?)?([Zz]|[+-]\d\d:\d\d)", re.ASCII)
"""RFC 3339, section 5.6 (2002); the seconds may be left out."""

CLOCK = re.compile(r"(?:(?:(\d+):)?(\d{1,2}):)?(\d+(?:\.\d+)?)", re.ASCII)


def parse_time(text: str, option: str) -> datetime:
    """An aware time. Raises UsageError naming ``option``."""
    try:
        if STAMP.fullmatch(text):
            return datetime.fromisoformat(text.upper()).astimezone(UTC)
    except (ValueError, OverflowError):
        pass  # the 31st of a month of 30 days, hour 25, or beyond the calendar's end
    raise UsageError(
        f"{option}: {plain(text)!r} is no time with offset; write 2026-03-01T08:00:00+01:00"
    )


def parse_period(text: str, option: str) -> Period:
    """FROM/TO. Raises UsageError naming ``option``."""
    first, slash, last = text.partition("/")
    if not slash:
        raise UsageError(
            f"{option}: {plain(text)!r} is no span; write two times with offset and / between"
        )
    start, end = parse_time(first, option), parse_time(last, option)
    if end <= start:
        raise UsageError(f"{option}: ends before it begins; swap the two times")
    return Period(start, end)


def parse_seconds(text: str, option: str) -> float:
    """Seconds, M:SS or H:MM:SS into a recording. Raises UsageError naming ``option``."""
    found = CLOCK.fullmatch(text)
    if found is not None:
        hours, minutes, seconds = (float(part or 0) for part in found.groups())
        if (found[2] is None or seconds < 60) and (found[1] is None or minutes < 60):
            return hours * 3600 + minutes * 60 + seconds
    raise UsageError(f"{option}: {plain(text)!r} is no time; write seconds, M:SS or H:MM:SS")


def parse_zone(name: str, option: str) -> ZoneInfo:
    """An IANA time zone. Raises UsageError naming ``option``."""
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise UsageError(
            f"{option}: {plain(name)!r} is no time zone; use an IANA name such as Europe/Madrid"
        ) from None


def local_text(at: datetime, zone: ZoneInfo) -> str:
    """Local time with its offset, e.g. "2026-03-02 07:10:00 +01:00"."""
    here = at.astimezone(zone)
    offset = here.strftime("%z")
    return f"{here:%Y-%m-%d %H:%M:%S} {offset[:3]}:{offset[3:5]}"


def utc_text(at: datetime) -> str:
    """RFC 3339 in UTC, to the second or with its fraction."""
    return at.astimezone(UTC).isoformat().replace("+00:00", "Z")
