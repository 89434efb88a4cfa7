"""What a zone setting does to evidence. Source: IANA tz database 2026f (package tzdata)."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.errors import UsageError
from asfound.jobs.ask_clock import ask_zone
from asfound.jobs.plot_clock import plot_zone
from asfound.jobs.zone_table import (
    GPS_AHEAD_S,
    ZoneFault,
    ZoneTable,
    local_text,
    shift_text,
    zone_table,
)
from asfound.ports.zones import packaged_zone


def table(place: str, recorder: str = "", saving: str = "", year: int = 2026) -> ZoneTable:
    return zone_table(ask_zone({"place": place, "recorder": recorder, "saving": saving}, year))


def test_daylight_saving_off_in_berlin_2026_by_tzdb_2026f() -> None:
    made = table("Europe/Berlin", "+01:00")
    assert len(made.changes) == 2 and made.wrong_hours == 210 * 24
    [found] = made.findings
    assert found.kind is ZoneFault.WRONG
    assert found.note.startswith("210 days of the year the recorder is up to 1:00 h behind")
    plot = plot_zone(made)
    assert plot.names == ("error",)


def test_settings_that_are_right() -> None:
    for place, recorder, saving in (
        ("Europe/Berlin", "Europe/Paris", ""),
        ("Europe/Berlin", "+1", "Europe/Rome"),
        ("Asia/Kolkata", "UTC+5:30", ""),
        ("America/Phoenix", "-07:00", ""),
    ):
        assert not table(place, recorder, saving).findings


def test_a_recorder_on_utc() -> None:
    made = table("Asia/Kathmandu", "UTC")
    assert made.wrong_hours == 365 * 24 and made.spans[0].error_s == -5.75 * 3600


def test_texts() -> None:
    assert shift_text(3600) == "+1:00" and shift_text(-5.75 * 3600) == "-5:45"
    assert shift_text(30) == "+0:00:30"
    assert local_text(datetime(2026, 1, 1, tzinfo=UTC), 3600) == "2026-01-01 01:00"


def test_gps_is_ahead_of_utc_by_18_seconds() -> None:
    """GPS week 1930, second 18, was 2017-01-01T00:00:00Z (IERS; computed)."""
    seconds = (datetime(2017, 1, 1, tzinfo=UTC) - datetime(1980, 1, 6, tzinfo=UTC)).total_seconds()
    assert seconds + GPS_AHEAD_S == 1_167_264_018


@pytest.mark.parametrize(
    "fields",
    [
        {},
        {"place": "Europe/Nowhere"},
        {"place": "../../etc/passwd"},
        {"place": "Europe"},
        {"place": "zone.tab"},
        {"place": "Europe/Madrid", "recorder": "+15:00"},
        {"place": "Europe/Madrid", "recorder": "Europe/Rome", "saving": "Europe/Rome"},
        {"place": "Europe/Madrid", "saving": "Europe/Rome"},
        {"place": "Europe/Madrid", "year": "1900"},
        {"place": "Europe/Madrid", "recorder": "summer"},
    ],
)
def test_what_cannot_be(fields: dict[str, str]) -> None:
    with pytest.raises(UsageError):
        ask_zone(fields, 2026)


@given(st.text(max_size=60))
def test_no_name_does_more_than_raise(name: str) -> None:
    try:
        assert packaged_zone(name).key == name
    except UsageError as error:
        assert "\n" not in str(error)
