"""Write endurance, against worked identities of data sheets' terms (computed by hand).

Workload classes of hard disks are from memory; the arithmetic on them is not.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.days_kept import Band, Load, bytes_a_day
from asfound.calc.drive_life import (
    FOREVER_YEARS,
    WORKLOADS,
    Wear,
    amplification_seen,
    dwpd_of,
    tbw_of,
    workload_for,
    years_left,
)
from asfound.units import GB, TB


def all_day(mbit: float) -> Band:
    """What a steady rate writes a day."""
    return bytes_a_day([Load(Band(mbit * 1e6, mbit * 1e6, mbit * 1e6), 24)])


@pytest.mark.parametrize(
    ("dwpd", "capacity", "years", "terabytes"),
    [(1, 960 * GB, 5, 1752), (3, 480 * GB, 5, 2628), (0.3, 2 * TB, 3, 657)],
)
def test_drive_writes_a_day_and_terabytes_written(
    dwpd: float, capacity: float, years: float, terabytes: float
) -> None:
    # TBW = DWPD * TB * 365 * years (identity): 0.96 * 365 * 5 = 1752, 3 * 0.48 * 1825 = 2628.
    assert tbw_of(dwpd, capacity, years) == pytest.approx(terabytes * TB)
    assert dwpd_of(terabytes * TB, capacity, years) == pytest.approx(dwpd)


def test_600_terabytes_written_on_one_terabyte_over_five_years() -> None:
    # 600 / (1 * 365 * 5), computed by hand.
    assert dwpd_of(600 * TB, TB, 5) == pytest.approx(0.32877, abs=5e-6)


@pytest.mark.parametrize(("amplification", "years"), [(1, 9.512), (2, 4.756)])
def test_a_recorder_of_16_megabits_on_600_terabytes_written(
    amplification: float, years: float
) -> None:
    # 16e6 / 8 * 86400 * 365 = 63.072 TB a year (computed by hand); 600 / 63.072.
    wear = Wear(all_day(16), amplification=amplification)
    assert wear.written_a_year.likely == pytest.approx(63.072 * TB)
    assert years_left(600 * TB, 0, wear).likely == pytest.approx(years, abs=1e-3)
    # Years of 365.25 days give 9.506 and 4.753.
    julian = Wear(all_day(16), 365.25, amplification)
    assert years_left(600 * TB, 0, julian).likely == pytest.approx(9.506 / amplification, abs=5e-4)


@pytest.mark.parametrize(("limit", "mbit"), [(55, 13.952), (180, 45.662), (550, 139.523)])
def test_workload_classes_as_a_steady_rate(limit: float, mbit: float) -> None:
    # limit * 1e12 * 8 / (365 * 86400), computed by hand; the limits themselves are from memory.
    a_year = Wear(all_day(mbit)).written_a_year.likely
    assert a_year == pytest.approx(limit * TB, rel=5e-5)
    assert limit * TB in WORKLOADS
    assert workload_for(a_year * 0.999) == limit * TB


def test_four_channels_of_two_megabits_and_what_no_class_allows() -> None:
    # 31.536 TB a year (computed by hand).
    assert Wear(all_day(8)).written_a_year.likely == pytest.approx(31.536 * TB)
    assert workload_for(31.536 * TB) == 55 * TB
    assert workload_for(551 * TB) is None


def test_how_hard_it_really_was() -> None:
    # 20 % of 600 TB are 120 TB, after 60 TB by the host (computed by hand).
    assert amplification_seen(0.2, 600 * TB, 60 * TB) == pytest.approx(2)


BANDS = st.tuples(st.floats(1e6, 1e13), st.floats(0, 0.9)).map(
    lambda pair: Band(pair[0] * (1 - pair[1]), pair[0], pair[0] * (1 + pair[1]))
)
WEARS = st.builds(Wear, BANDS, st.floats(1, 366), st.floats(1, 20))


@given(WEARS, st.floats(1e9, 1e17), st.floats(0, 1), st.floats(1, 10))
def test_more_rating_is_never_fewer_years_and_more_writes_never_more(
    wear: Wear, tbw: float, used: float, factor: float
) -> None:
    years = years_left(tbw, tbw * used, wear)
    assert 0 <= years.low <= years.likely <= years.high <= FOREVER_YEARS
    assert years_left(tbw * factor, tbw * used, wear).low >= years.low * (1 - 1e-12)
    harder = Wear(wear.bytes_a_day, wear.days_a_year, wear.amplification * factor)
    assert years_left(tbw, tbw * used, harder).high <= years.high * (1 + 1e-12)
    assert years_left(tbw, tbw * 1.5, wear).high == 0


@given(WEARS, st.floats(0.01, 900))
def test_the_years_wear_out_what_was_left(wear: Wear, years: float) -> None:
    tbw = wear.worn_a_year.likely * years
    assert years_left(tbw, 0, wear).likely == pytest.approx(years, rel=1e-9)


@given(st.floats(0.01, 100), st.floats(1e9, 1e14), st.floats(0.5, 10))
def test_both_ratings_say_the_same(dwpd: float, capacity: float, years: float) -> None:
    assert dwpd_of(tbw_of(dwpd, capacity, years), capacity, years) == pytest.approx(dwpd)
