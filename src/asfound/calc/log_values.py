"""Figures and times as logs write them: decimal commas, Unix seconds, ISO 8601, units of speed."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta, tzinfo
from enum import StrEnum
from math import isfinite, nan

SPEED_UNITS = {"m/s": 1.0, "km/h": 1 / 3.6, "mph": 0.44704, "knots": 1852 / 3600}
"""In m/s: mile 1609.344 m (international yard, 1959), knot 1852 m/h (BIPM, SI brochure, 8th ed.,
table 8)."""

NUMBER = re.compile(r"[+-]?\d{1,18}(?:[.]\d{0,18})?|[+-]?[.]\d{1,18}", re.ASCII)
EARLIEST_S, LATEST_S = -2_208_988_800.0, 4_102_444_800.0
"""1900 to 2100: beyond, a time is no time of a log."""


class TimeForm(StrEnum):
    """How a column writes times: seconds or milliseconds since 1970, or ISO 8601."""

    SECONDS = "s"
    MILLISECONDS = "ms"
    ISO = "iso"


def number(text: str, comma: bool = False) -> float:
    """The figure, finite; with ``comma`` the decimal sign is a comma. nan for an empty text.

    Raises ValueError.
    """
    text = text.strip()
    if not text:
        return nan
    plain = text.replace(",", ".") if comma and "." not in text else text
    if NUMBER.fullmatch(plain) is None:
        raise ValueError(f"{text[:40]!r} is no figure")
    return float(plain)


def log_time(text: str, form: TimeForm, zone: tzinfo, comma: bool = False) -> float:
    """Seconds since 1970, UTC. ``zone``: whose local time a date and time without offset is; of an
    hour that comes twice the first is taken.

    Raises ValueError: no time, or one that did not exist in ``zone``.
    """
    if form is TimeForm.ISO:
        at = _iso_time(text.strip(), zone)
    else:
        at = number(text, comma) / (1000.0 if form is TimeForm.MILLISECONDS else 1.0)
    if not (isfinite(at) and EARLIEST_S < at < LATEST_S):
        raise ValueError(f"{text[:40]!r} is no time")
    return at


def _iso_time(text: str, zone: tzinfo) -> float:
    # ISO 8601 allows the comma as decimal sign, and so do those who write logs.
    try:
        made = datetime.fromisoformat(text.replace(",", "."))
    except ValueError:
        raise ValueError(f"{text[:40]!r} is no date and time (ISO 8601)") from None
    if made.tzinfo is not None:
        return _since_1970(made)
    local = made.replace(tzinfo=zone)
    at = _since_1970(local)
    back = datetime.fromtimestamp(0, UTC) + timedelta(seconds=at)
    if back.astimezone(zone).replace(tzinfo=None, fold=0) != made:
        raise ValueError(f"{text[:40]!r} did not exist: clocks were put forward")
    return at


def _since_1970(at: datetime) -> float:
    try:
        return (at - datetime(1970, 1, 1, tzinfo=UTC)).total_seconds()
    except OverflowError:
        raise ValueError("a time beyond the calendar's end") from None
