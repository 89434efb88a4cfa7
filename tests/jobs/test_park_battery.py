"""A parked battery: findings and cut-offs. Sums by hand; facts of the trade as said beside them."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.battery_charge import Battery, Kind
from asfound.calc.days_kept import Band
from asfound.calc.parked_drain import Drain
from asfound.jobs.park_battery import ParkBattery, Parked, ParkFault, park_battery
from asfound.jobs.plot_parked import plot_parked
from asfound.model.plot import Rule


def weekend(**changed: object) -> ParkBattery:
    """100 Ah of 24 V, 90 % full, from Friday evening to Monday morning."""
    drain = Drain(1.0, 4.0, 0.1, own_share=0.0)
    made = ParkBattery(Battery(100, 24), drain, Band(0.9, 0.9, 0.9), 60.0, (0.9, 0.02))
    return replace(made, **changed)  # type: ignore[arg-type]


def kinds(result: Parked) -> set[ParkFault]:
    return {one.kind for one in result.findings}


def test_a_weekend_by_hand() -> None:
    # 4 h at 1 A and 56 h at 0.1 A: 9.6 Ah of 100. 40 Ah may go: 4 + 36 / 0.1 = 364 h.
    result = park_battery(weekend())
    assert result.at_end.likely == pytest.approx(0.804)
    assert result.until_least_h == pytest.approx((364, 364, 364))
    # (40 - 6) / 0.9 = 37.8 h of run-on.
    assert result.run_on_h[1] == pytest.approx(37.78, abs=0.01)
    assert result.findings == () and result.acts_at is None


def test_drained_before_monday() -> None:
    result = park_battery(weekend(drain=Drain(2.0, 24.0, 0.1, own_share=0.0)))
    # 40 Ah at 2 A: 20 h; (40 - 6) / 1.9 = 17.9 h of run-on would do.
    assert kinds(result) == {ParkFault.NO_START, ParkFault.RUN_ON}
    assert "after 20 h" in result.findings[0].note
    assert "17.9 h leave enough" in result.findings[1].note
    assert result.findings[1].limit == pytest.approx(17.89, abs=0.01)


def test_an_uncertain_charge_may_not_do() -> None:
    result = park_battery(weekend(charge=Band(0.55, 0.7, 0.9)))
    assert kinds(result) == {ParkFault.MAY_NOT_START} and result.run_on_h[0] is None
    assert "at the worst too little is left for a start after" in result.findings[0].note
    likely = park_battery(weekend(charge=Band(0.5, 0.55, 0.9), drain=Drain(1.0, 8.0, 0.1)))
    assert "likely to be left" in likely.findings[0].note
    gone = park_battery(weekend(charge=Band(0.3, 0.35, 0.4)))
    assert kinds(gone) == {ParkFault.LOW_AT_PARK}


def test_cut_offs() -> None:
    # At half charge a 12 V battery rests near 12.2 V (battery trade's tables): 24.4 V for two.
    low = park_battery(weekend(cut_off_v=23.0))
    assert ParkFault.CUT_OFF_LOW in kinds(low)
    safe = low.safe_cut_off_v
    assert 24.4 <= safe <= 24.9 and f"set {safe:.1f} V" in low.findings[0].note
    near = park_battery(weekend(cut_off_v=24.4))
    assert kinds(near) == {ParkFault.CUT_OFF_MAY_BE_LOW}
    # A battery at 80 to 90 % rests near 25 V: a cut-off there ends the run-on at once.
    high = park_battery(weekend(cut_off_v=25.4))
    assert kinds(high) == {ParkFault.CUT_OFF_HIGH}
    assert park_battery(weekend(cut_off_v=safe)).findings == ()
    # Leads lose volts: the plug sees less, so the cut-off there has to be lower.
    behind = park_battery(weekend(lead_ohms=5.0, recorder_a=(0.9, 0.1)))
    assert behind.safe_cut_off_v < safe and behind.parked_v < low.parked_v


def test_frost() -> None:
    # A discharged battery freezes near -10 degrees Celsius (common practice, no source).
    cold = weekend(
        battery=Battery(100, 24, celsius=-18), drain=Drain(2, 40, 0.5), charge=Band(0.5, 0.5, 0.5)
    )
    assert ParkFault.FREEZES in kinds(park_battery(replace(cold, charge=Band(0.2, 0.2, 0.2))))
    assert ParkFault.FREEZES not in kinds(park_battery(replace(cold, drain=Drain(0, 0, 0.0))))


def test_when_no_cut_off_serves() -> None:
    # In hard frost a start wants so much charge that the battery hardly stands above it.
    result = park_battery(
        weekend(battery=Battery(100, 24, celsius=-20), charge=Band(0.75, 0.75, 0.75))
    )
    assert not result.cut_off_serves and park_battery(weekend()).cut_off_serves


@given(
    st.sampled_from(list(Kind)), st.sampled_from((12, 24)), st.floats(-30, 30),
    st.floats(0.1, 0.9), st.floats(0, 2), st.floats(0, 0.5),
)  # fmt: skip
def test_a_safe_cut_off_is_never_too_low(
    kind: Kind, volts: float, celsius: float, keep: float, ohms: float, asleep: float
) -> None:
    asked = weekend(
        battery=Battery(100, volts, kind, celsius=celsius),
        keep=keep,
        lead_ohms=ohms,
        recorder_a=(1.0, asleep),
    )
    result = park_battery(asked)
    again = park_battery(replace(asked, cut_off_v=result.safe_cut_off_v))
    assert not {ParkFault.CUT_OFF_LOW, ParkFault.CUT_OFF_MAY_BE_LOW} & kinds(again)


def test_the_plot() -> None:
    asked = weekend(charge=Band(0.7, 0.8, 0.9), cut_off_v=24.0)
    result = park_battery(asked)
    plot = plot_parked(asked, result)
    rules = {layer.name: layer.at for layer in plot.layers if isinstance(layer, Rule)}
    assert rules["a start wants"] == pytest.approx(50) and rules["parked until"] == 60
    assert rules["end of run-on"] == 4 and "cut-off acts" in rules
    hours = [at for at, _ in result.curve]
    assert hours == sorted(hours) and 4.0 in hours and hours[-1] > 60
    plain = plot_parked(weekend(drain=Drain(0, 0, 0, 0)), park_battery(weekend()))
    assert "end of run-on" not in plain.names
