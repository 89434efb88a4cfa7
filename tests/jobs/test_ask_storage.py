"""What is typed about a drive, as figures; figures computed by hand."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.days_kept import Load, around
from asfound.errors import UsageError
from asfound.jobs.ask_storage import NAMES, ask_storage
from asfound.jobs.plot_storage import plot_storage
from asfound.jobs.size_storage import DaysFault, Events, Measured, size_storage
from asfound.model.plot import Line, Rule

BASE = {"drive": "1TB", "channels": "4x2Mbit/s, 1x512kbit/s", "hours": "12"}


def test_figures() -> None:
    request = ask_storage({**BASE, "audio": "64kbit/s", "reserve": "10%", "week": "5"})
    assert request.loads == (
        Load(around(2e6, 0.2), 12, 4, 64e3),
        Load(around(512e3, 0.2), 12, 1, 64e3),
    )
    assert request.room.usable_bytes == pytest.approx(1e12 * (0.98 - 0.1))
    assert request.days_a_week == 5 and request.events is None


def test_ignition_times_and_run_on() -> None:
    typed = {**BASE, "hours": "", "ignition": "05:30-13:00, 15:00-23:30", "run_on": "30min"}
    assert ask_storage(typed).loads[0].hours_a_day == pytest.approx(17.0)


def test_five_days_a_week_keep_longer_by_the_calendar() -> None:
    seven, five = size_storage(ask_storage(BASE)), size_storage(ask_storage({**BASE, "week": "5"}))
    assert five.days.likely == pytest.approx(seven.days.likely * 7 / 5)
    promise = {**BASE, "promised": "30"}
    drive = size_storage(ask_storage(promise)).drive_bytes
    less = size_storage(ask_storage({**promise, "week": "5"})).drive_bytes
    assert drive is not None and less is not None
    assert less.likely == pytest.approx(drive.likely * 5 / 7)


def test_events_fill_their_reserve() -> None:
    # 8 Mbit/s = 1e6 byte/s; 3 events of 100 s = 3e8 bytes a day; 9 GB hold them for 30 days.
    typed = {
        "drive": "1TB", "channels": "4x2Mbit/s", "hours": "10", "reserve": "9GB", "events": "3",
        "event_length": "100s", "spread": "0%", "promised": "40", "lawful": "29",
    }  # fmt: skip
    request = ask_storage(typed)
    assert request.events == Events(3, 100)
    result = size_storage(request)
    assert result.event_days is not None and result.event_days.likely == pytest.approx(30)
    kinds = {one.kind for one in result.findings}
    assert {DaysFault.RESERVE_TOO_SMALL, DaysFault.EVENTS_TOO_LONG} <= kinds


def test_measured_rates_take_the_place_of_typed_ones() -> None:
    request = ask_storage({"drive": "1TB", "hours": "10"}, [Measured(1, 60, 1e6)])
    assert [load.rate.likely for load in request.loads] == [1e6]


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"drive": ""}, "drive is missing"),
        ({"channels": ""}, "channels is missing"),
        ({"channels": "4x"}, "a number and a rate"),
        ({"hours": ""}, "say hours a day"),
        ({"ignition": "1:00-2:00"}, "both given"),
        ({"run_on": "5min"}, "have it in them"),
        ({"hours": "0"}, "more than 0"),
        ({"hours": "", "ignition": "8-9"}, "no time from and until"),
        ({"hours": "", "ignition": "08:00-24:30"}, "no 24:30"),
        ({"week": "8"}, "0.25 to 7"),
        ({"events": "3"}, "go together"),
        ({"event_length": "3s"}, "go together"),
        ({"events": "-1", "event_length": "3s"}, "0 to 10000"),
        ({"promised": "0"}, "no number of days"),
        ({"lawful": "soon"}, "no figure"),
        ({"reserve": "100%"}, "no share"),
        ({"drive": "9" * 500}, "longer than"),
    ],
)
def test_what_cannot_be(changed: dict[str, str], said: str) -> None:
    with pytest.raises(UsageError, match=said):
        ask_storage({**BASE, **changed})


@given(st.dictionaries(st.sampled_from(NAMES), st.text(max_size=30)))
def test_anything_typed_is_a_request_or_one_line(typed: dict[str, str]) -> None:
    try:
        ask_storage({**BASE, **typed})
    except UsageError as error:
        assert "\n" not in str(error).replace(repr(typed), "")


def test_the_plot_has_the_cases_and_their_limits() -> None:
    now = ask_storage({**BASE, "promised": "30", "lawful": "31"})
    plot = plot_storage([("now", now), ("2TB", ask_storage({**BASE, "drive": "2TB"}))])
    lines = [layer for layer in plot.layers if isinstance(layer, Line)]
    assert [line.name for line in lines] == ["now", "2TB"] and lines[0].x == lines[1].x
    assert lines[0].y == tuple(sorted(lines[0].y)), "more disk never means fewer days"
    assert [(r.name, r.at) for r in plot.layers if isinstance(r, Rule)] == [
        ("promised", 30.0), ("lawful", 31.0),
    ]  # fmt: skip


def test_a_figure_too_large_is_told_the_limit_in_a_unit_that_is_used() -> None:
    with pytest.raises(UsageError, match="at most 1000000 TB"):
        ask_storage({**BASE, "drive": "999999999999TB"})
