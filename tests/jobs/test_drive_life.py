"""How long drives last at a recorder's load.

Expected figures are computed by hand: 16 Mbit/s all day are 172.8 GB a day (bit/s * 86400 / 8) and
63.072 TB a year of 365 days. Workload classes are from memory.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.smart_reports import hdd, nvme, text

from asfound.calc.days_kept import around
from asfound.calc.drive_life import Wear
from asfound.calc.smart_json import read_smart
from asfound.errors import UsageError
from asfound.jobs.ask_drive import ask_drive_life
from asfound.jobs.drive_life import DriveLife, LifeFault, drive_life
from asfound.jobs.plot_drive_life import TOP, plot_drive_life
from asfound.model.plot import Band, Bars, Line, Rule
from asfound.units import GB, TB

ALL_DAY = {"drive": "1TB", "rate": "16Mbit/s", "hours": "24", "spread": "0%"}
RATED = {**ALL_DAY, "tbw": "600TB"}


def life(spread: float = 0.2, **more: float) -> DriveLife:
    """16 Mbit/s all day on 1 TB with 600 TB of rated writes: 9.51 years."""
    return replace(
        DriveLife(Wear(around(172.8 * GB, spread)), capacity=TB, tbw=600 * TB),
        **more,  # type: ignore[arg-type]
    )


def kinds(request: DriveLife) -> list[str]:
    return [one.kind for one in drive_life(request).findings]


def test_years_and_shares() -> None:
    made = drive_life(life(warranty_years=5, written=150 * TB))
    assert made.years is not None
    assert made.years.likely == pytest.approx(450 / 63.072)
    assert made.years.low == pytest.approx(450 / 63.072 / 1.2)
    assert made.years.high == pytest.approx(450 / 63.072 / 0.8)
    assert made.used_share == pytest.approx(0.25)
    assert made.writes_a_day == pytest.approx(0.1728)
    assert made.rated_writes_a_day == pytest.approx(0.32877, abs=5e-6)
    assert made.workload_class == 180 * TB, "with much to record 75.7 TB a year"


@pytest.mark.parametrize(
    ("more", "found"),
    [
        ({}, []),
        ({"wanted_years": 7.0}, []),
        ({"wanted_years": 9.0}, [LifeFault.MAY_BE_TOO_SHORT]),
        ({"wanted_years": 12.0}, [LifeFault.TOO_SHORT]),
        ({"warranty_years": 9.0}, []),
        ({"warranty_years": 10.0}, [LifeFault.BEFORE_WARRANTY]),
        ({"written": 479 * TB}, []),
        ({"written": 480 * TB}, [LifeFault.NEARLY_USED_UP]),
        ({"written": 600 * TB, "wanted_years": 1.0}, [LifeFault.USED_UP]),
        ({"written": 60 * TB, "used": 0.14}, []),
        ({"written": 60 * TB, "used": 0.16}, [LifeFault.FASTER]),
        ({"written": 1 * TB, "used": 0.04}, []),
        ({"used": 0.5}, []),
        ({"workload": 180 * TB}, []),
        ({"workload": 70 * TB}, [LifeFault.MAY_BE_WORKLOAD]),
        ({"workload": 55 * TB}, [LifeFault.WORKLOAD]),
    ],
)
def test_findings(more: dict[str, float], found: list[str]) -> None:
    assert kinds(life(**more)) == found


def test_amplification_counts_what_was_written_as_well() -> None:
    twice = replace(life(written=150 * TB), wear=Wear(around(172.8 * GB, 0), amplification=2))
    made = drive_life(twice)
    assert made.used_share == pytest.approx(0.5)
    assert made.years is not None and made.years.likely == pytest.approx(300 / 126.144)


def test_what_takes_more_than_any_class() -> None:
    much = DriveLife(Wear(around(2 * TB, 0)), workload=550 * TB)
    assert "no usual class is enough" in drive_life(much).findings[0].note


def test_what_was_typed() -> None:
    made = ask_drive_life({**RATED, "years": "7", "warranty": "5", "written": "100TB"})
    assert made == life(0, wanted_years=7.0, warranty_years=5.0, written=100 * TB)
    daily = ask_drive_life({**ALL_DAY, "dwpd": "0.32876712", "warranty": "5", "week": "5"})
    assert daily.rated == pytest.approx(600 * TB)
    assert daily.wear.days_a_year == pytest.approx(365 * 5 / 7)
    assert ask_drive_life({**RATED, "written": "0TB"}).written == 0
    assert ask_drive_life({**ALL_DAY, "workload": "1PB"}).workload == 1000 * TB
    apart = {"drive": "1TB", "channels": "8x2Mbit/s", "hours": "24", "spread": "0%"}
    assert ask_drive_life({**apart, "tbw": "600TB"}) == life(0)


def test_what_the_drive_says_itself() -> None:
    # NVMe units: 2,000,000 x 512,000 bytes = 1.024 TB.
    report = read_smart(text(nvme()))
    made = ask_drive_life({**RATED, "drive": ""}, report=report)
    assert (made.written, made.capacity, made.used) == (1.024 * TB, 4_000_787_030_016, 0.03)
    with pytest.raises(UsageError, match="known unit"):
        ask_drive_life(RATED, report=read_smart(text(hdd())))
    with pytest.raises(UsageError, match="leave it out"):
        ask_drive_life({**RATED, "written": "1TB"}, report=report)


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"drive": ""}, "drive is missing"),
        ({"rate": ""}, "channels is missing"),
        ({"channels": "4x2Mbit/s"}, "not both"),
        ({"hours": ""}, "say hours a day"),
        ({"tbw": "600"}, "tbw: '600' is no figure"),
        ({"tbw": "", "dwpd": "1"}, "warranty is missing"),
        ({"dwpd": "1"}, "say the same"),
        ({"dwpd": "one"}, "dwpd: 'one' is no figure"),
        ({"warranty": "0"}, "more than 0 is wanted"),
        ({"years": "1000"}, "0 to 100 is taken"),
        ({"amplification": "0.5"}, "1 to 100 is taken"),
        ({"written": "much"}, "written: 'much' is no figure"),
        ({"workload": "-5TB"}, "workload: '-5TB'"),
    ],
)
def test_what_cannot_be(fields: dict[str, str], said: str) -> None:
    with pytest.raises(UsageError, match=said):
        ask_drive_life({**RATED, **fields})


def test_no_rating_and_nothing_written() -> None:
    with pytest.raises(UsageError, match="no rating"):
        drive_life(ask_drive_life(ALL_DAY))
    with pytest.raises(UsageError, match="nothing is written"):
        drive_life(DriveLife(Wear(around(0, 0)), tbw=TB))


def test_a_plot_of_rated_writes() -> None:
    plot = plot_drive_life(life(wanted_years=6.0, warranty_years=5.0))
    assert plot.names == (
        "from little to much to record", "1 TB", "500 GB of the same kind, new",
        "2 TB of the same kind, new", "write amplification 2", "rated writes", "years asked for",
        "warranty",
    )  # fmt: skip
    own = next(one for one in plot.layers if isinstance(one, Line))
    # All of it is used after 9.513 years (600 / 63.072).
    rise = own.y[-1] / own.x[-1]
    assert 100 / rise == pytest.approx(9.513, abs=5e-4)
    small = next(one for one in plot.layers if isinstance(one, Line) and "500" in one.name)
    assert small.y[-1] == TOP and 100 / (TOP / small.x[-1]) == pytest.approx(9.513 / 2, abs=5e-4)


def test_a_plot_of_the_workload() -> None:
    plot = plot_drive_life(DriveLife(Wear(around(172.8 * GB, 0.2)), workload=70 * TB))
    [bars] = [one for one in plot.layers if isinstance(one, Bars)]
    assert bars.values[1] == pytest.approx(63.072)
    rules = [(one.at, one.on) for one in plot.layers if isinstance(one, Rule)]
    assert rules == [(55, "x"), (70, "x"), (180, "x")]


REQUESTS = st.builds(
    DriveLife,
    st.builds(
        Wear,
        st.builds(around, st.floats(1e6, 1e13), st.floats(0, 0.9)),
        st.floats(10, 366),
        st.floats(1, 100),
    ),
    capacity=st.none() | st.floats(1e9, 1e14),
    tbw=st.floats(1e9, 1e17),
    warranty_years=st.none() | st.floats(0.1, 100),
    written=st.floats(0, 1e17),
    wanted_years=st.none() | st.floats(0.1, 100),
    workload=st.none() | st.floats(1e9, 1e16),
)


@given(REQUESTS)
def test_any_drive_has_an_answer_and_a_plot(request: DriveLife) -> None:
    made = drive_life(request)
    assert made.years is not None and made.years.low >= 0
    for layer in plot_drive_life(request).layers:
        if isinstance(layer, Line):
            assert max(layer.y) <= TOP and list(layer.x) == sorted(layer.x)
        if isinstance(layer, Band):
            assert max(layer.high) <= TOP


@given(st.dictionaries(st.sampled_from([*RATED, "dwpd", "written", "week"]), st.text(max_size=12)))
def test_any_text_is_taken_or_refused_in_one_line(fields: dict[str, str]) -> None:
    try:
        drive_life(ask_drive_life({**RATED, **fields}))
    except UsageError as error:
        assert "\n" not in str(error)
