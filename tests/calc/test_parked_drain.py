"""Drain of a parked vehicle, against sums by hand and a simulation in small steps."""

from __future__ import annotations

from math import inf

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from asfound.calc.battery_charge import Battery, Kind, cold_share
from asfound.calc.parked_drain import (
    Drain,
    charge_after,
    counted_amperes,
    hours_until,
    longest_run_on,
)

AMPERES, HOURS = st.floats(0, 20), st.floats(0, 200)


def battery(ah: float = 100, health: float = 1.0, celsius: float = 25) -> Battery:
    return Battery(ah, 24, Kind.FLOODED, health, celsius)


@pytest.mark.parametrize(("amperes", "days"), [(0.05, 41.67), (0.25, 8.33)])
def test_half_of_100_ah(amperes: float, days: float) -> None:
    # By hand: 50 mA is 1.2 Ah a day, half of 100 Ah lasts 41.67 days; 250 mA 8.33 days.
    drain = Drain(0, 0, amperes, own_share=0)
    assert hours_until(battery(), drain, 1.0, 0.5) / 24 == pytest.approx(days, abs=0.005)


def test_run_on_then_sleep_by_hand() -> None:
    # 4 h at 2 A and 58 h at 0.1 A are 13.8 Ah of 100.
    drain = Drain(2, 4, 0.1, own_share=0)
    assert charge_after(battery(), drain, 0.9, 62) == pytest.approx(0.9 - 0.138)
    # 62 h at 0.1 A are 6.2 Ah; 40 Ah may go: (40 - 6.2) / 1.9 = 17.79 h of run-on.
    assert longest_run_on(battery(), drain, 0.9, 0.5, 62) == pytest.approx(17.789, abs=1e-3)
    assert longest_run_on(battery(), drain, 0.55, 0.5, 62) is None
    assert longest_run_on(battery(), Drain(0.1, 4, 0.1, 0), 0.9, 0.5, 62) == 62


def test_a_month_of_self_discharge_and_none() -> None:
    # 3 % in 30 days (common practice, no source).
    assert charge_after(battery(), Drain(0, 0, 0), 0.9, 720) == pytest.approx(0.87)
    assert hours_until(battery(), Drain(0, 0, 0, own_share=0), 0.9, 0.5) == inf
    assert hours_until(battery(), Drain(1, 1, 1), 0.4, 0.5) == 0


def test_peukert_above_the_rate_of_20_hours_only() -> None:
    # 100 Ah: 5 A is the rate. 10 A with k = 1.2: 10 * 2 ** 0.2 = 11.487 A.
    assert counted_amperes(5, battery()) == 5 and counted_amperes(0.1, battery()) == 0.1
    assert counted_amperes(10, battery()) == pytest.approx(11.487, abs=1e-3)


def test_nothing_below_what_the_cold_leaves() -> None:
    # -18 degrees Celsius: 57 % come out, 43 % stay.
    cold = battery(celsius=-18)
    assert charge_after(cold, Drain(5, 100, 5), 1.0, 1000) == pytest.approx(1 - cold_share(-18))


@given(
    st.floats(10, 400), st.floats(-30, 30), AMPERES, HOURS, AMPERES, st.floats(0.5, 1),
    st.floats(1, 200),
)  # fmt: skip
def test_a_simulation_in_small_steps_agrees(
    ah: float, celsius: float, run: float, run_h: float, sleep: float, charge: float, hours: float
) -> None:
    made, drain = battery(ah, celsius=celsius), Drain(run, run_h, sleep)
    steps, left = 2000, charge
    step = hours / steps
    floor = 1 - cold_share(celsius)
    for number in range(steps):
        amperes = run if (number + 0.5) * step < run_h else sleep
        left -= (counted_amperes(amperes, made) / ah + drain.own_share / 720) * step
    wanted = max(left, min(floor, charge))
    most = counted_amperes(max(run, sleep), made) / ah * step
    assert charge_after(made, drain, charge, hours) == pytest.approx(wanted, abs=most + 1e-6)


@given(
    st.floats(10, 400), st.floats(0, 400), st.floats(-40, 40), st.floats(0, 30), AMPERES, HOURS,
    AMPERES,
)  # fmt: skip
def test_more_ah_never_fewer_hours_and_colder_never_longer(
    ah: float, more: float, celsius: float, colder: float, run: float, run_h: float, sleep: float
) -> None:
    drain = Drain(run, run_h, sleep)
    here, larger = battery(ah, celsius=celsius), battery(ah + more, celsius=celsius)
    cold = battery(ah, celsius=celsius - colder)
    hours = [hours_until(one, drain, 0.95, one.least_charge(0.5)) for one in (cold, here, larger)]
    assert hours[0] <= hours[1] * (1 + 1e-9) and hours[1] <= hours[2] * (1 + 1e-9)
    after = [charge_after(one, drain, 0.95, 50) for one in (here, larger)]
    assert after[0] <= after[1] + 1e-12


@given(AMPERES, AMPERES, HOURS, AMPERES, st.floats(0, 5), st.floats(0, 50))
def test_more_drain_never_lasts_longer(
    run: float, more_run: float, run_h: float, sleep: float, more_sleep: float, more_h: float
) -> None:
    assume(run >= sleep + more_sleep)
    made = battery()
    few = Drain(run, run_h, sleep)
    for many in (
        Drain(run + more_run, run_h, sleep),
        Drain(run, run_h, sleep + more_sleep),
        Drain(run, run_h + more_h, sleep),
    ):
        assert hours_until(made, many, 0.9, 0.5) <= hours_until(made, few, 0.9, 0.5) * (1 + 1e-9)
        assert charge_after(made, many, 0.9, 60) <= charge_after(made, few, 0.9, 60) + 1e-9
        seen, kept = (longest_run_on(made, one, 0.9, 0.5, 60) for one in (many, few))
        assert seen is None or (kept is not None and seen <= kept + 1e-9)


@given(AMPERES, HOURS, AMPERES, st.floats(0.3, 1), st.floats(1, 200))
def test_the_longest_run_on_leaves_just_enough(
    run: float, run_h: float, sleep: float, charge: float, hours: float
) -> None:
    made = battery()
    longest = longest_run_on(made, Drain(run, run_h, sleep), charge, 0.3, hours)
    if longest is None:
        assert hours_until(made, Drain(run, 0, sleep), charge, 0.3) < hours
        return
    left = charge_after(made, Drain(run, longest, sleep), charge, hours)
    assert left >= 0.3 - 1e-9
    if longest < hours:
        assert left == pytest.approx(0.3, abs=1e-6)
