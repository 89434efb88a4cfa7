"""What is typed about triggers: units, maps, patterns; whatever is wrong is told in one line."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.jobs.drive_kit import csv_of

from asfound.calc.log_values import TimeForm
from asfound.demo.drives import START_S, VAN, Drive, drive
from asfound.errors import AsfoundError, UsageError
from asfound.jobs.ask_triggers import Files, Source, ask_triggers, gather


@pytest.fixture(scope="module")
def made() -> Drive:
    return drive(64000, 3, VAN)


def source(name: str, text: str | bytes) -> Source:
    raw = text if isinstance(text, bytes) else text.encode()

    def chunks() -> Iterable[bytes]:
        return [raw]

    again: Callable[[], Iterable[bytes]] = chunks
    return name, again


def test_all_of_it() -> None:
    asked = ask_triggers(
        {
            "budget": "3.5/day", "hours": "12", "filter": "4Hz order 2", "hold_off": "1min",
            "up": "-Z", "forward": "x", "gravity": "removed",
            "map": "time=when, x=3,unit=16384/g,time-unit=ms,zone=Europe/Berlin,decimal=comma",
            "track_map": "time=t,speed=v,speed-unit=knots,time-unit=s,day=2026-11-03",
            "label_map": "start=a,end=b,kind=c", "harsh": "brake*, Kerb", "not_harsh": "*soft",
            "labels_since": "start",
        }
    )  # fmt: skip
    assert (asked.budget_a_day, asked.hours_a_day, asked.settings.hold_off_s) == (3.5, 12, 60)
    assert (asked.filter.cut_hz, asked.filter.order, asked.filter.cfc) == (4.0, 2, None)
    assert asked.form.columns == {"time": "when", "x": "3"}
    assert (asked.form.unit, asked.form.time_unit, asked.form.comma) == ("16384/g", "ms", True)
    assert str(asked.form.zone) == "Europe/Berlin"
    form = asked.track.form
    assert form.times is TimeForm.SECONDS and form.speed_unit == "knots"
    assert str(asked.track.day) == "2026-11-03"
    assert asked.harsh == ("brake*", "Kerb") and asked.not_harsh == ("*soft",)


def test_budgets_and_filters() -> None:
    for text, a_day in (("3/day", 3), ("7 per week", 1), ("0.5/h", 5), ("2 a day", 2)):
        assert ask_triggers({"budget": text}).budget_a_day == pytest.approx(a_day)
    assert ask_triggers({}).budget_a_day is None
    assert ask_triggers({"filter": "cfc 180"}).filter.cfc == 180


@pytest.mark.parametrize(
    ("field", "text", "said"),
    [
        ("budget", "3", "write events a day"),
        ("budget", "0/day", "write events a day"),
        ("hours", "25", "0.01 to 24"),
        ("filter", "low", "write 5Hz"),
        ("map", "speed=3", "one of time, x, y, z"),
        ("map", "x", "NAME=VALUE"),
        ("map", "unit=furlong", "g, mg, m/s2"),
        ("map", "time-unit=years", "time-unit"),
        ("map", "zone=Nowhere/Land", "zone"),
        ("map", "decimal=dot", "decimal"),
        ("track_map", "speed-unit=warp", "speed-unit"),
        ("up", "north", "write x, y or z"),
        ("gravity", "maybe", "gravity"),
        ("labels_since", "never", "labels-since"),
        ("hold_off", "ten", "hold-off"),
    ],
)
def test_what_cannot_be(field: str, text: str, said: str) -> None:
    with pytest.raises(UsageError, match=said):
        ask_triggers({field: text})


@given(
    st.dictionaries(
        st.sampled_from(
            [
                "budget",
                "hours",
                "filter",
                "hold_off",
                "up",
                "map",
                "track_map",
                "label_map",
                "harsh",
            ]
        ),
        st.text(max_size=40),
    )
)
def test_anything_typed_ends_in_a_request_or_one_line(fields: dict[str, str]) -> None:
    try:
        ask_triggers(fields)
    except AsfoundError as error:
        assert "Traceback" not in str(error)


LABELS = "log,start,end,kind\nb.csv,10,12,harsh brake\n,20,21,soft brake\na.csv,30,31,Kerb\n"


def test_labels_go_to_their_logs(made: Drive) -> None:
    logs = [source(name, csv_of(made)) for name in ("in/a.csv", "in/b.csv", "c.csv")]
    files = Files(logs, (), [source("l.csv", LABELS)])
    request, left_out = gather(ask_triggers({"not_harsh": "SOFT*"}), files)
    assert [[one.kind for one in log.labels] for log in request.logs] == [
        ["Kerb"],
        ["harsh brake"],
        [],
    ]
    assert left_out == ()
    request, _ = gather(ask_triggers({"harsh": "soft*"}), files)
    assert [len(log.labels) for log in request.logs] == [1, 1, 1]
    with pytest.raises(UsageError, match="kinds there are: Kerb, harsh brake, soft brake"):
        gather(ask_triggers({"harsh": "swerve"}), files)


def test_tracks_and_labels_one_for_each_or_one_for_all(made: Drive) -> None:
    log = source("a.csv", csv_of(made))
    times = "\n".join(f"{START_S + n},51,{7 + n / 1e4},30" for n in range(9))
    track = source("t.csv", "time,lat,lon,speed\n" + times + "\n1,2,nonsense,3\n")
    asked = ask_triggers({"track_map": "time-unit=s", "budget": "3/day"})
    request, left_out = gather(asked, Files([log, log], [track]))
    assert request.logs[0].track is request.logs[1].track is not None
    assert [fault.where for fault in left_out] == ["t.csv:11"]
    with pytest.raises(UsageError, match="2 files of track for 3 logs"):
        gather(asked, Files([log] * 3, [track] * 2))
    with pytest.raises(UsageError, match="name a log"):
        gather(asked, Files([]))
