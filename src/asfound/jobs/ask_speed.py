"""What was typed about speed triggers and wheel pulses, as requests."""

from __future__ import annotations

import re

from asfound.calc.log_values import SPEED_UNITS
from asfound.calc.tyre import Tyre, parse_tyre
from asfound.errors import UsageError
from asfound.jobs.ask_clock import SPANS
from asfound.jobs.ask_track import ask_columns, ask_comma, ask_times, ask_zone_of
from asfound.jobs.asked import Fields, figure, needed, quantity, text_of
from asfound.jobs.calibrate_pulses import CalibratePulses
from asfound.jobs.read_pulses import PURPOSES, PulseForm, PulseLog
from asfound.jobs.watch_speed import WatchSpeed
from asfound.model.track_log import TrackLog
from asfound.units import parse_quantity

TABLE = re.compile(r"\s*(\d{1,3})\s*(?:\.\.|to)\s*(\d{1,3})\s*(?:(?:by|/)\s*(\d{1,3}))?\s*")
MOST_LIMITS = 60
KMH = 3.6


def ask_speed(fields: Fields, logs: tuple[TrackLog, ...]) -> WatchSpeed:
    """Fields: limit 80km/h · tolerance 5km/h · lasting 3s · limits 60..110/10 (km/h) · budget 2 ·
    zone. Raises UsageError."""
    limit = _kmh(needed(fields, "limit", "80km/h"), "limit")
    budget = text_of(fields, "budget")
    return WatchSpeed(
        logs,
        limit,
        _kmh(text_of(fields, "tolerance", "0km/h"), "tolerance", zero=True),
        _seconds(text_of(fields, "lasting", "3s"), "lasting"),
        _table(text_of(fields, "limits"), limit),
        budget=figure(budget, "budget", 0.01, 1e5) if budget else None,
        zone=ask_zone_of(fields),
    )


def ask_pulse_form(fields: Fields, before: str = "") -> PulseForm:
    """Fields, each after ``before``: columns time=1,count=2 · times · zone · decimal."""
    name = f"{before}columns"
    return PulseForm(
        ask_columns(text_of(fields, name), name, PURPOSES),
        ask_times(fields, before),
        ask_zone_of(fields, before),
        ask_comma(fields, before),
    )


def ask_pulses(fields: Fields, pulses: PulseLog, track: TrackLog) -> CalibratePulses:
    """Fields: setting 8000 · tyre 295/80R22.5 · per_turn 26 · align yes or no.

    Raises UsageError.
    """
    setting, per_turn = text_of(fields, "setting"), text_of(fields, "per_turn")
    return CalibratePulses(
        pulses,
        track,
        figure(setting, "setting", 100, 1e6) if setting else None,
        _tyre(text_of(fields, "tyre")),
        figure(per_turn, "per_turn", 0.1, 1e4) if per_turn else None,
        _yes(text_of(fields, "align", "yes"), "align"),
    )


def _kmh(text: str, name: str, zero: bool = False) -> float:
    if zero and re.fullmatch(r"0(km/h)?", text):
        return 0.0
    found = quantity(text, name, {key: each * KMH for key, each in SPEED_UNITS.items()}, 1e4)
    if not found <= 250:
        raise UsageError(f"{name} {text}: at most 250 km/h")
    return round(found, 6)


def _seconds(text: str, name: str) -> float:
    try:
        found = parse_quantity(text, SPANS)
    except ValueError as error:
        raise UsageError(f"{name}: {error}") from None
    if found > 3600:
        raise UsageError(f"{name} {text}: at most an hour")
    return found


def _table(text: str, limit: float) -> tuple[float, ...]:
    """ "60..110/10" as limits; 30 km/h around ``limit`` by 5 unless said."""
    if not text:
        middle = 5 * round(limit / 5)
        return tuple(float(each) for each in range(max(5, middle - 30), middle + 31, 5))
    found = TABLE.fullmatch(text)
    if found is None:
        raise UsageError(f"limits {text!r}: write the lowest, the highest and the step, 60..110/10")
    low, high, step = int(found[1]), int(found[2]), int(found[3] or 5)
    if not 1 <= low <= high <= 250 or step < 1 or (high - low) // step >= MOST_LIMITS:
        raise UsageError(f"limits {text}: from 1 to 250 km/h, at most {MOST_LIMITS} of them")
    return tuple(float(each) for each in range(low, high + 1, step))


def _tyre(text: str) -> Tyre | None:
    if not text:
        return None
    try:
        return parse_tyre(text)
    except ValueError as error:
        raise UsageError(f"tyre: {error}") from None


def _yes(text: str, name: str) -> bool:
    if text not in ("yes", "no"):
        raise UsageError(f"{name} {text!r}: yes or no")
    return text == "yes"
