"""Drift from readings: lines, visits, findings. 10 ppm are 0.864 s a day (identity)."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.visit_kit import MAP, VEHICLE, desk, opened, reading

from asfound.calc.clock_drift import OffsetRead
from asfound.errors import UsageError
from asfound.jobs.ask_clock import ask_drift
from asfound.jobs.clock_drift import DriftFault, FindDrift, find_drift
from asfound.jobs.drift_readings import read_lines, read_visits, vehicle_readings
from asfound.jobs.plot_clock import plot_drift
from asfound.jobs.visit_act import TickStep, tick
from asfound.jobs.visit_record import RecordReading, record_as_found
from asfound.model.clock import ClockOffset
from asfound.model.reading import PhotoReading, Reading

START = datetime(2026, 3, 1, 8, tzinfo=UTC)
DAY = 86_400.0


def line(day: float, offset: float) -> OffsetRead:
    return OffsetRead(START.timestamp() + day * DAY, offset)


@pytest.mark.parametrize(
    "text",
    [
        "2026-03-01T08:00:00Z +258",
        "2026-03-01T08:00:00Z,258,1",
        "2026-03-01T09:00:00+01:00; 258 s; ±1",
        "2026-03-01T08:00:00Z 2026-03-01T08:04:18Z",
        "2026-03-01 08:00:00, 2026-03-01 08:04:18",
    ],
)
def test_ways_to_write_a_reading(text: str) -> None:
    assert read_lines(["true time, offset", text]) == (line(0, 258.0),)


@pytest.mark.parametrize(
    "text", ["2026-03-01T08:00:00Z", "soon 5", "2026-03-01T08:00:00Z fast", "1 2 3 4", "5"]
)
def test_what_is_no_reading(text: str) -> None:
    with pytest.raises(UsageError, match=r"reading 2: .*write true time and offset"):
        read_lines(["# comment", text])


@given(st.lists(st.text(max_size=40), max_size=5))
def test_nothing_but_a_usage_error(lines: list[str]) -> None:
    try:
        read_lines(lines)
    except UsageError as error:
        assert "\n" not in str(error)


def test_findings() -> None:
    steady = FindDrift((line(0, 2), line(30, 28), line(60, 54)), 60, START.timestamp() + 100 * DAY)
    found = find_drift(steady)
    assert found.drift is not None and found.drift.ppm == pytest.approx(10.03, abs=0.01)
    assert [one.kind for one in found.findings] == [DriftFault.SOON]
    plot = plot_drift(steady, found)
    assert plot is not None and plot.names == ("95 %", "read", "drift", "allowed")
    late = find_drift(replace(steady, until_s=START.timestamp() + 63 * DAY))
    assert [one.kind for one in late.findings] == [DriftFault.MAY]
    passed = find_drift(replace(steady, allowed_s=50))
    assert [one.kind for one in passed.findings] == [DriftFault.PASSED]
    assert not find_drift(replace(steady, until_s=None)).findings
    two = find_drift(FindDrift((line(0, 0), line(1, 12))))
    assert [one.kind for one in two.findings] == [DriftFault.FAST]
    assert "too few readings for a band" in two.notes[0]


def test_a_setting_between_and_nothing_to_tell() -> None:
    jumped = FindDrift((line(0, 0), line(30, 26), line(60, -548), line(90, -522), line(120, -496)))
    found = find_drift(replace(jumped, allowed_s=3600))
    assert [one.kind for one in found.findings] == [DriftFault.SET]
    assert "put back by 600" in found.findings[0].note
    unknown = find_drift(FindDrift((line(0, 0), line(1, 3600))))
    assert unknown.drift is None and unknown.findings[0].kind is DriftFault.UNKNOWN
    assert plot_drift(jumped, unknown) is None
    with pytest.raises(UsageError, match="two readings"):
        find_drift(FindDrift((line(0, 0),)))


def test_asking() -> None:
    asked = ask_drift(
        {"readings": "2026-03-01T09:00 5\n", "zone": "Europe/Madrid", "until": "2026-06-01"},
        (line(30, 9),),
    )
    assert asked.readings == (line(30, 9), line(0, 5))
    assert asked.until_s == datetime(2026, 6, 2, tzinfo=UTC).timestamp() and asked.allowed_s == 60
    assert ask_drift({"celsius": "-20..60", "allowed": "2min"}).celsius == (-20, 60)
    for fields in ({"celsius": "hot"}, {"celsius": "9..-9"}, {"until": "soon"}, {"allowed": "0s"},
                   {"readings": "x" * 30_000}):  # fmt: skip
        with pytest.raises(UsageError, match=next(iter(fields))):
            ask_drift(fields)


def test_visits_tell_when_their_photographs_do() -> None:
    clock = ClockOffset(2.0, 4.0, 1, "UTC")

    def reading(day: int, seen: ClockOffset | None, aware: bool = True) -> Reading:
        taken = START + timedelta(days=day)
        photo = PhotoReading("a.jpg", f"{day}", None, 0.0, (), taken=taken if aware else
                             taken.replace(tzinfo=None))  # fmt: skip
        return Reading("m", "1", (photo,), (), (), clock=seen)

    class Visit:
        """Of a visit's state, what is asked of it here."""

        def __init__(self, found: Reading) -> None:
            self.as_found: Reading | None = found
            self.rounds = ()

    visits = [
        Visit(reading(30, clock)),
        Visit(reading(0, clock)),
        Visit(reading(1, None)),
        Visit(reading(2, replace(clock, contradictory=True))),
        Visit(reading(3, replace(clock, zone_sure=False))),
        Visit(reading(4, clock, aware=False)),
    ]
    made = read_visits(visits)  # type: ignore[arg-type]
    assert made == tuple(OffsetRead(line(day, 0).at_s, 3.0, 1.0) for day in (0, 30))


def test_readings_of_a_vehicle_s_visits_through_the_store(tmp_path: Path) -> None:
    at = desk(tmp_path)
    for day in (0, 40):
        state = opened(at)
        for step in ("locate", "power", "monitor"):
            tick(TickStep(state.id, step, "ada"), desk=at)
        seen = reading({"general.name": "AB"}, at)
        photos = tuple(replace(one, taken=START + timedelta(days=day)) for one in seen.photos)
        clock = ClockOffset(2.0 + day, 4.0 + day, 1, "UTC")
        read = replace(seen, photos=photos, clock=clock)
        record_as_found(RecordReading(state.id, MAP, read, "ada"), desk=at)
    made = vehicle_readings(VEHICLE.number, desk=at)
    assert [(one.at_s, one.offset_s, one.within_s) for one in made] == [
        (START.timestamp(), 3.0, 1.0),
        (START.timestamp() + 40 * DAY, 43.0, 1.0),
    ]
    assert vehicle_readings("none", desk=at) == ()
