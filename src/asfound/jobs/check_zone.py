"""Time-zone settings against the fleet's zone, over a year."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime

from asfound.calc.zone_changes import (
    Offset,
    WrongSpan,
    rule_elsewhere,
    wrong_spans,
    year_span,
    zone_offset,
)
from asfound.errors import UsageError
from asfound.jobs.settings_say import Said, Settings, amount, is_on, utc_offset
from asfound.model.sums import Facts, SettingFault, SettingFinding
from asfound.ports.zones import packaged_zone
from asfound.units import HOUR_S

NIGHT_H = 3.0
"""Shorter spans lie in the night in which clocks change: at which hour a recorder does that, no
menu says (own choice)."""


def recorder_spans(
    zone: Said, summer: Said | None, fleet_zone: str, year: int
) -> tuple[WrongSpan, ...] | str:
    """Spans of the year in which the recorder does not show the fleet's local time; else why that
    cannot be told."""
    ahead = utc_offset(zone)
    if ahead is None:
        return f"{zone.field.label} {zone.value!r} does not say how far from UTC it is"
    base_s = ahead.total_seconds()
    shown: Offset = lambda at: base_s  # noqa: E731 (one of two clocks)
    if summer is not None and is_on(summer):
        named = amount(summer)
        try:
            shown = rule_elsewhere(base_s, packaged_zone(named if named != "on" else fleet_zone))
        except UsageError:
            return f"{summer.field.label} {summer.value!r} names no zone whose rule it follows"
    true = zone_offset(packaged_zone(fleet_zone))
    spans = wrong_spans(shown, true, *year_span(year, true))
    return tuple(span for span in spans if span.hours > NIGHT_H)


def check_zone(settings: Settings, facts: Facts) -> Iterator[SettingFinding | str]:
    """A clock that does not show local time all year, unless it shows plain UTC; or why that was
    left out."""
    zone, summer = settings.one("time-zone"), settings.one("summer-time")
    if zone is None:
        return
    if facts.time_zone is None or facts.year is None:
        yield "the clock's zone: the fleet's zone is not known"
        return
    spans = recorder_spans(zone, summer, facts.time_zone, facts.year)
    if isinstance(spans, str):
        yield f"the clock's zone: {spans}"
        return
    ahead = utc_offset(zone)
    moves = summer is not None and is_on(summer)
    if not spans or (ahead is not None and not ahead and not moves):
        # UTC all year round is a choice that many make: nothing jumps.
        return
    first = spans[0]
    hours = first.error_s / HOUR_S
    way = "ahead" if hours > 0 else "behind"
    note = (
        f"from {_day(first.start)} to {_day(first.end)} the clock is {abs(hours):g} h {way} "
        f"against {facts.time_zone}"
    )
    fields = (zone.field.id, *([summer.field.id] if summer else ()))
    yield SettingFinding(
        SettingFault.ZONE, fields, first.error_s, 0.0, "s", "IANA time zone database", note
    )


def _day(at: datetime) -> str:
    return at.astimezone(UTC).strftime("%Y-%m-%d")
