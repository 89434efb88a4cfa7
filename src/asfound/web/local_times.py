"""Dates and times as forms send them: the clock on the wall, in the fleet's zone."""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from asfound.calc.wall_time import moment
from asfound.errors import UsageError


def wall_time(text: str) -> datetime:
    """A date and time without a zone, or with one where it was written. Raises UsageError."""
    try:
        return datetime.fromisoformat(text.strip())
    except ValueError:
        raise UsageError(f"{text!r} is no date and time; write it like 2026-11-25T08:00") from None


def local_time(text: str, zone: ZoneInfo, fold: int) -> datetime:
    """The same in ``zone``. ``fold`` says which of two hours is meant when clocks go back: 0 for
    the first, at a start, 1 for the second, at an end, so that a span is the wider one. As UTC.
    Raises UsageError, also for a time that clocks put forward left out."""
    made = wall_time(text)
    try:
        return made.astimezone(UTC) if made.tzinfo is not None else moment(made, zone, fold)
    except (ValueError, OverflowError):
        raise UsageError(
            f"{text!r} never came: clocks were put forward over it, or the calendar ends before; "
            "look at the time"
        ) from None
