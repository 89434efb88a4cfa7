"""What was typed about clocks, as requests: drift, zone, match."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta

from asfound.calc.clock_drift import OffsetRead
from asfound.errors import UsageError
from asfound.jobs.ask_track import ask_day, ask_zone_of
from asfound.jobs.asked import Fields, figure, needed, text_of, whole
from asfound.jobs.clock_drift import CELSIUS, FindDrift
from asfound.jobs.drift_readings import read_lines
from asfound.jobs.zone_table import RecorderZone, TableZone
from asfound.ports.zones import packaged_zone
from asfound.units import parse_quantity

SPANS = {"s": 1.0, "min": 60.0, "h": 3600.0}
FIXED = re.compile(r"([+-])(\d{1,2}):?([0-5]\d)?", re.ASCII)
LONGEST = 20_000
"""Letters of a list of readings."""
CELSIUS_SPAN = re.compile(r"\s*([+-]?\d{1,3})\s*(?:\.\.|to)\s*([+-]?\d{1,3})\s*")


def ask_drift(fields: Fields, readings: tuple[OffsetRead, ...] = ()) -> FindDrift:
    """Fields: readings (a line each) · zone · allowed 60s · until 2027-03-01 · celsius -10..45.
    ``readings``: those that come from elsewhere. Raises UsageError."""
    typed = fields.get("readings", "")
    if len(typed) > LONGEST:
        raise UsageError(f"readings: longer than {LONGEST} letters; give those of one recorder")
    own = read_lines(typed.splitlines(), ask_zone_of(fields))
    until = ask_day(text_of(fields, "until"), "until")
    until_s = None
    if until is not None:
        until_s = datetime(until.year, until.month, until.day, tzinfo=UTC).timestamp() + 86_400
    return FindDrift(
        (*readings, *own),
        ask_span(text_of(fields, "allowed", "60s"), "allowed"),
        until_s,
        _celsius(text_of(fields, "celsius")),
    )


def ask_zone(fields: Fields, year: int) -> TableZone:
    """Fields: place Europe/Madrid (the fleet's zone) · year 2027 · recorder +01:00 or an IANA name
    · saving (whose rule for daylight saving the recorder follows, an IANA name). ``year``: unless
    said. Raises UsageError."""
    place = packaged_zone(needed(fields, "place", "Europe/Madrid"))
    asked = whole(text_of(fields, "year", str(year)), "year", 1970, 2037)
    return TableZone(place, asked, _recorder(fields))


def ask_span(text: str, name: str, most: float = 86_400.0 * 2) -> float:
    """A length of time [s]. Raises UsageError."""
    try:
        found = parse_quantity(text, SPANS)
    except ValueError as error:
        raise UsageError(f"{name}: {error}") from None
    if not 0 < found <= most:
        raise UsageError(f"{name} {text}: more than 0 is wanted, and at most {most:g} s")
    return found


def _recorder(fields: Fields) -> RecorderZone | None:
    text, saving = text_of(fields, "recorder"), text_of(fields, "saving")
    if not text:
        if saving:
            raise UsageError("saving belongs to recorder; say what it is set to, +01:00")
        return None
    fixed = FIXED.fullmatch(text.removeprefix("UTC").removeprefix("GMT").strip() or "+0")
    if fixed is None:
        if saving:
            raise UsageError(
                "saving goes with a fixed recorder time, +01:00; a zone has its own rule"
            )
        return RecorderZone(text, packaged_zone(text))
    base = timedelta(hours=int(fixed[2]), minutes=int(fixed[3] or 0)).total_seconds()
    if base > 14 * 3600:
        raise UsageError(f"recorder {text}: clocks on Earth are at most 14 hours from UTC")
    rule = packaged_zone(saving) if saving else None
    words = f"{text}, daylight saving as in {saving}" if saving else f"{text}, no daylight saving"
    return RecorderZone(words, None, -base if fixed[1] == "-" else base, rule)


def _celsius(text: str) -> tuple[float, float]:
    if not text:
        return CELSIUS
    found = CELSIUS_SPAN.fullmatch(text)
    if found is None:
        raise UsageError(f"celsius {text!r}: write the coldest and the warmest, -10..45")
    low, high = (figure(each, "celsius", -60, 120) for each in found.groups())
    if low > high:
        raise UsageError(f"celsius {text}: the colder comes first")
    return low, high
