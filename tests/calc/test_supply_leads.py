"""Supply leads, against ASTM B258's gauges, IEC 60228's class 5 and worked drops."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.supply_leads import (
    RHO_20,
    SECTIONS_MM2,
    STRANDED,
    Lead,
    at_current,
    at_power,
    awg_mm2,
    least_fuse,
    section_for,
)


@pytest.mark.parametrize(
    ("gauge", "mm2", "ohm_per_km"),
    # ASTM B258 with 0.017241 ohm mm2/m (100 % IACS): computed by hand from the standard's formula.
    [(10, 5.261, 3.277), (14, 2.081, 8.285), (18, 0.8230, 20.95), (24, 0.2047, 84.21)],
)
def test_american_gauges(gauge: int, mm2: float, ohm_per_km: float) -> None:
    assert awg_mm2(gauge) == pytest.approx(mm2, rel=5e-4)
    solid = Lead(500, awg_mm2(gauge)).ohms / STRANDED  # 500 m there and back: 1 km
    assert solid == pytest.approx(ohm_per_km, rel=5e-4)


def test_four_nought_is_0_46_inch() -> None:
    # ASTM B258: 36 AWG is 0.0050 in, 4/0 0.4600 in.
    assert awg_mm2(-3) == pytest.approx(3.14159265 / 4 * (0.46 * 25.4) ** 2, rel=1e-6)


@pytest.mark.parametrize(
    ("section", "class_5"),
    # IEC 60228, single values of class 5, plain, 20 degrees Celsius [ohm/km].
    [(0.5, 39.0), (1.0, 19.5), (1.5, 13.3), (2.5, 7.98), (4.0, 4.95), (6.0, 3.30)],
)
def test_flexible_conductors_are_reckoned_at_what_the_standard_allows(
    section: float, class_5: float
) -> None:
    ours = RHO_20 * 1000 / section * STRANDED
    assert class_5 <= ours * 1.003 and ours == pytest.approx(class_5, rel=0.03)


def test_a_worked_drop() -> None:
    # 8 m one way, 5 A, 1.5 mm2 at 13.3 ohm/km: 2 * 8 * 0.0133 * 5 = 1.064 V, 4.43 % of 24 V.
    seen = at_current(24, 5, Lead(8, 1.5))
    assert seen.drop_v == pytest.approx(1.064, rel=0.005)
    # 60 degrees Celsius: 1 + 0.00393 * 40 = 1.1572 times as much.
    assert at_current(24, 5, Lead(8, 1.5, 60)).drop_v == pytest.approx(
        1.1572 * seen.drop_v, rel=1e-6
    )


@given(st.floats(9, 32), st.floats(1, 120), st.floats(0.5, 20), st.sampled_from(SECTIONS_MM2))
def test_a_constant_power_gets_its_power(
    supply: float, watts: float, length: float, section: float
) -> None:
    seen = at_power(supply, watts, Lead(length, section))
    if seen is None:
        assert Lead(length, section).ohms * watts * 4 > supply**2
    else:
        assert seen.volts * seen.amperes == pytest.approx(watts)
        assert seen.drop_v == pytest.approx(Lead(length, section).ohms * seen.amperes, abs=1e-9)
        assert seen.amperes >= watts / supply * (1 - 1e-12)


@given(
    st.floats(9, 32), st.floats(1, 120), st.floats(0.5, 20), st.floats(-40, 85), st.floats(0.1, 10),
    st.floats(1, 3),
)  # fmt: skip
def test_a_thicker_lead_never_drops_more(
    supply: float, watts: float, length: float, celsius: float, section: float, factor: float
) -> None:
    thin = at_power(supply, watts, Lead(length, section, celsius))
    thick = at_power(supply, watts, Lead(length, section * factor, celsius))
    if thin is not None:
        assert thick is not None and thick.drop_v <= thin.drop_v + 1e-9


def test_the_section_that_is_enough_and_the_fuse() -> None:
    # 60 W at 24 V over 12 m, at most 3 % (0.72 V): about 2.6 A, 2 * 12 * 2.6 * r <= 0.72.
    assert section_for(24, 60, Lead(12, 1.0), 0.03) == 2.5
    assert section_for(12, 500, Lead(30, 1.0), 0.03) is None
    assert least_fuse(2.5) == 5.0 and least_fuse(4.0) == 5.0 and least_fuse(25.0) is None
