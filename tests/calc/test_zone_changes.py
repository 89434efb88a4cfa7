"""Zones against the IANA database, version 2026f (the package tzdata), and by hand.

Sources: IANA tz database 2026f, changes of 2025 and 2026 as computed from it with zoneinfo; EU
summer time begins and ends at 01:00 UTC on the last Sundays of March and October (Directive
2000/84/EC, from memory).
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.zone_changes import (
    changes,
    rule_elsewhere,
    wrong_spans,
    year_span,
    zone_offset,
)
from asfound.ports.zones import ZONES_VERSION, packaged_zone

HOUR = 3600.0


def at(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def changes_in(name: str, year: int) -> list[datetime]:
    offset = zone_offset(packaged_zone(name))
    return [one.at for one in changes(offset, *year_span(year, offset))]


def test_the_version_these_values_are_of() -> None:
    assert ZONES_VERSION >= "2026f", "the values below hold from IANA tzdb 2026f on"


@pytest.mark.parametrize(
    ("name", "year", "expected"),
    [
        ("Europe/London", 2025, ["2025-03-30T01:00", "2025-10-26T01:00"]),
        ("Europe/Berlin", 2026, ["2026-03-29T01:00", "2026-10-25T01:00"]),
        ("America/New_York", 2025, ["2025-03-09T07:00", "2025-11-02T06:00"]),
        ("America/New_York", 2026, ["2026-03-08T07:00", "2026-11-01T06:00"]),
        ("America/New_York", 2006, ["2006-04-02T07:00", "2006-10-29T06:00"]),
        ("America/Los_Angeles", 2026, ["2026-03-08T10:00", "2026-11-01T09:00"]),
        ("Australia/Sydney", 2026, ["2026-04-04T16:00", "2026-10-03T16:00"]),
        ("Africa/Cairo", 2026, ["2026-04-23T22:00", "2026-10-29T21:00"]),
        ("America/Santiago", 2026, ["2026-04-05T03:00", "2026-09-06T04:00"]),
        ("Asia/Kolkata", 2026, []),
        ("Asia/Kathmandu", 2026, []),
        ("America/Sao_Paulo", 2026, []),
        ("America/Phoenix", 2026, []),
        ("America/Mexico_City", 2026, []),
        ("Europe/Istanbul", 2026, []),
    ],
)
def test_changes_of_tzdb_2026f(name: str, year: int, expected: list[str]) -> None:
    assert changes_in(name, year) == [at(text) for text in expected]


def test_half_an_hour_and_rules_that_moved_in_tzdb_2026f() -> None:
    """Lord Howe Island: +10:30 and +11. 2026f has Vancouver stay at -7 from November 2026."""
    lord_howe = zone_offset(packaged_zone("Australia/Lord_Howe"))
    first, last = changes(lord_howe, *year_span(2026, lord_howe))
    assert (first.before_s, first.after_s, last.after_s) == (11 * HOUR, 10.5 * HOUR, 11 * HOUR)
    assert len(changes_in("America/Vancouver", 2026)) == 1


def test_the_missing_and_the_ambiguous_hour() -> None:
    """London 2026: 29 March 01:00 to 02:00 does not exist, 25 October 01:00 to 02:00 is twice."""
    london = zone_offset(packaged_zone("Europe/London"))
    spring, autumn = changes(london, *year_span(2026, london))
    assert spring.forward and not autumn.forward
    assert spring.local == (datetime(2026, 3, 29, 1), datetime(2026, 3, 29, 2))
    assert autumn.local == (datetime(2026, 10, 25, 1), datetime(2026, 10, 25, 2))


def test_a_recorder_without_daylight_saving_is_an_hour_slow_all_summer() -> None:
    berlin = zone_offset(packaged_zone("Europe/Berlin"))
    fixed = zone_offset(timezone(timedelta(hours=1)))
    [span] = wrong_spans(fixed, berlin, *year_span(2026, berlin))
    assert (span.start, span.end) == (at("2026-03-29T01:00"), at("2026-10-25T01:00"))
    assert span.error_s == -HOUR and span.hours == 30 * 7 * 24


def test_another_region_s_rule_is_wrong_for_weeks_in_spring_and_one_in_autumn() -> None:
    """US rule at UTC+1: from 8 March 02:00 (01:00Z) to 1 November 02:00 summer (00:00Z)."""
    berlin = zone_offset(packaged_zone("Europe/Berlin"))
    elsewhere = rule_elsewhere(HOUR, packaged_zone("America/New_York"))
    spans = wrong_spans(elsewhere, berlin, *year_span(2026, berlin))
    assert [(one.start, one.end, one.error_s) for one in spans] == [
        (at("2026-03-08T01:00"), at("2026-03-29T01:00"), HOUR),
        (at("2026-10-25T01:00"), at("2026-11-01T00:00"), HOUR),
    ]


def test_its_own_rule_is_right() -> None:
    berlin = packaged_zone("Europe/Berlin")
    own = rule_elsewhere(HOUR, berlin)
    assert not wrong_spans(own, zone_offset(berlin), *year_span(2026, zone_offset(berlin)))


@given(
    st.sampled_from(["Europe/Berlin", "Australia/Sydney", "America/Santiago", "Africa/Casablanca"]),
    st.sampled_from(["Europe/London", "Asia/Tokyo", "Australia/Lord_Howe"]),
    st.integers(2000, 2030),
    st.floats(0, 1),
)
def test_spans_say_the_error_at_any_moment(one: str, two: str, year: int, where: float) -> None:
    shown, true = zone_offset(packaged_zone(one)), zone_offset(packaged_zone(two))
    start, end = year_span(year, true)
    spans = wrong_spans(shown, true, start, end)
    moment = start + timedelta(seconds=int((end - start).total_seconds() * where * 0.9999))
    said = [span.error_s for span in spans if span.start <= moment < span.end]
    expected = shown(moment) - true(moment)
    assert said == ([expected] if expected else [])
