"""Sentences of NMEA 0183 (from memory): $TTSSS,field,...*HH with talker TT, kind SSS, checksum HH.

The checksum is the exclusive or of all characters between $ and *. Understood are RMC, GGA, GLL,
VTG and ZDA of any talker. Years of two digits are 1980 to 2079: satellite time began in 1980.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import isfinite, nan

from asfound.calc.log_values import SPEED_UNITS, number

KNOT, KMH = SPEED_UNITS["knots"], SPEED_UNITS["km/h"]
SENTENCE = re.compile(r"\$([A-Z]{2})([A-Z]{3}),([\x20-\x7e]*)", re.ASCII)
CLOCK = re.compile(r"(\d\d)(\d\d)(\d\d(?:[.]\d{0,9})?)", re.ASCII)
DAY = re.compile(r"(\d\d)(\d\d)(\d\d)", re.ASCII)
ANGLE = re.compile(r"(\d{2,3})(\d\d(?:[.]\d{0,12})?)", re.ASCII)
FIRST_YEAR = 80


@dataclass(frozen=True, slots=True)
class Sentence:
    """What a sentence says. ``fix``: False when the receiver says it has none, None when the
    sentence does not tell. ``clock_s``: seconds since midnight, UTC; ``day``: the date; degrees,
    m/s. nan and None: not said."""

    kind: str
    clock_s: float = nan
    day: date | None = None
    fix: bool | None = None
    lat_deg: float = nan
    lon_deg: float = nan
    speed_ms: float = nan
    course_deg: float = nan


def checksum(inner: str) -> int:
    """Exclusive or of the characters between $ and *, 0..255."""
    made = 0
    for char in inner:
        made ^= ord(char)
    return made & 0xFF


def body(text: str) -> tuple[str, bool | None]:
    """A sentence from its $ on without the checksum, and whether that is right (None: none)."""
    inner, star, given = text.partition("*")
    if not star:
        return inner.rstrip(), None
    right = re.fullmatch(r"[0-9A-Fa-f]{2}", given[:2]) is not None and not given[2:].strip()
    return inner, right and int(given[:2], 16) == checksum(inner[1:])


def parse(inner: str) -> Sentence | None:
    """The sentence ("$GPRMC,..." without checksum); None for a kind that is not understood.

    Raises ValueError when its fields are no such figures.
    """
    found = SENTENCE.fullmatch(inner)
    if found is None:
        if re.match(r"\$[A-Z]{1,5}", inner, re.ASCII) and inner[3:6] not in _PARSERS:
            return None
        raise ValueError("no sentence")
    parser = _PARSERS.get(found[2])
    return parser(found[3].split(",")) if parser is not None else None


def clock_seconds(text: str) -> float:
    """hhmmss.sss as seconds since midnight; nan for "". Raises ValueError."""
    if not text:
        return nan
    found = CLOCK.fullmatch(text)
    if found is None or int(found[1]) > 23 or int(found[2]) > 59 or float(found[3]) >= 61:
        raise ValueError(f"{text[:20]!r} is no time")
    return int(found[1]) * 3600 + int(found[2]) * 60 + float(found[3])


def day_of(text: str) -> date | None:
    """ddmmyy as a date; None for "". Raises ValueError."""
    if not text:
        return None
    found = DAY.fullmatch(text)
    if found is None:
        raise ValueError(f"{text[:20]!r} is no date")
    year = int(found[3])
    return date(year + (1900 if year >= FIRST_YEAR else 2000), int(found[2]), int(found[1]))


def degrees(text: str, side: str, sides: str) -> float:
    """ddmm.mmm with its side (one of ``sides``, positive first) as degrees; nan for "".

    Raises ValueError.
    """
    if not text and not side:
        return nan
    found = ANGLE.fullmatch(text)
    if found is None or float(found[2]) >= 60 or len(side) != 1 or side not in sides:
        raise ValueError(f"{text[:20]!r} {side[:3]!r} is no angle")
    value = int(found[1]) + float(found[2]) / 60
    return value if side == sides[0] else -value


def _position(fields: Sequence[str]) -> tuple[float, float]:
    return degrees(fields[0], fields[1], "NS"), degrees(fields[2], fields[3], "EW")


def _rmc(fields: Sequence[str]) -> Sentence:
    _need(fields, 9)
    lat, lon = _position(fields[2:6])
    return Sentence(
        "RMC", clock_seconds(fields[0]), day_of(fields[8]), _valid(fields[1]), lat, lon,
        number(fields[6]) * KNOT, number(fields[7]),
    )  # fmt: skip


def _gga(fields: Sequence[str]) -> Sentence:
    _need(fields, 6)
    if not re.fullmatch(r"\d?", fields[5], re.ASCII):
        raise ValueError(f"{fields[5][:20]!r} is no quality of a fix")
    lat, lon = _position(fields[1:5])
    return Sentence("GGA", clock_seconds(fields[0]), None, fields[5] not in ("", "0"), lat, lon)


def _gll(fields: Sequence[str]) -> Sentence:
    _need(fields, 4)
    lat, lon = _position(fields[:4])
    clock = clock_seconds(fields[4]) if len(fields) > 4 else nan
    return Sentence("GLL", clock, None, _valid(fields[5]) if len(fields) > 5 else None, lat, lon)


def _vtg(fields: Sequence[str]) -> Sentence:
    _need(fields, 7)
    speed = number(fields[6]) * KMH
    if not isfinite(speed) and fields[4]:
        speed = number(fields[4]) * KNOT
    return Sentence("VTG", speed_ms=speed, course_deg=number(fields[0]))


def _zda(fields: Sequence[str]) -> Sentence:
    _need(fields, 4)
    clock = clock_seconds(fields[0])
    if not any(fields[1:4]):
        return Sentence("ZDA", clock)
    if not all(re.fullmatch(r"\d{1,4}", each, re.ASCII) for each in fields[1:4]):
        raise ValueError("no date")
    return Sentence("ZDA", clock, date(int(fields[3]), int(fields[2]), int(fields[1])))


def _valid(text: str) -> bool:
    if text not in ("A", "V", ""):
        raise ValueError(f"{text[:20]!r} is no status")
    return text == "A"


def _need(fields: Sequence[str], least: int) -> None:
    if len(fields) < least:
        raise ValueError(f"{len(fields)} fields, {least} are wanted: cut off")


_PARSERS = {"RMC": _rmc, "GGA": _gga, "GLL": _gll, "VTG": _vtg, "ZDA": _zda}
