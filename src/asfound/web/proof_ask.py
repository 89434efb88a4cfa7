"""What a page asks of recordings besides their folder: burned-in clocks, earlier pictures."""

from __future__ import annotations

from collections.abc import Mapping

from asfound.errors import UsageError
from asfound.jobs.prove_clock_judge import ClockAsk, check_ask
from asfound.sources import CLOCK_OFFSET_SECONDS
from asfound.web.local_times import wall_time

LIMIT_S = CLOCK_OFFSET_SECONDS.value
"""Offset of a clock that is let pass [s], unless something else is asked for."""


def clock_of(form: Mapping[str, str], zone: str) -> ClockAsk | None:
    """How burned-in clocks are to be read; None when they are not. ``zone`` is the fleet's.

    Raises UsageError: a zone that is not known, half a note, a limit that is no length of time.
    """
    if not form.get("clock"):
        return None
    shown, true = form.get("clock_shown", "").strip(), form.get("clock_true", "").strip()
    if bool(shown) != bool(true):
        raise UsageError("a noted clock needs both: what it showed, and what it really was")
    noted = (wall_time(shown), wall_time(true)) if shown else None
    if noted is not None and (noted[0].tzinfo is None) != (noted[1].tzinfo is None):
        raise UsageError("a noted clock's times both have a zone, or neither has")
    ask = ClockAsk(form.get("clock_zone", "").strip() or zone, noted, True, _limit(form))
    check_ask(ask)
    return ask


def _limit(form: Mapping[str, str]) -> float:
    text = form.get("clock_limit", "").strip().replace(",", ".")
    if not text:
        return LIMIT_S
    try:
        return float(text)
    except ValueError:
        raise UsageError(f"{text!r} is no number of seconds; write it like 2 or 0.5") from None
