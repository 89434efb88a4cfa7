"""Rules about voltages: limits, the meter's error, what is missing. Figures by hand."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.weigh_volts import DIGIT_V, Truth, holds, rule_holds, value_of, weight_of
from asfound.model.voltage_rules import Condition, VoltageRule

LOW = Condition("a", below=12.0)
DROP = Condition("a", ("b", "c"), above=0.5, scaled=False)
HALF = Condition("b", share_of="a", above=0.4, below=0.6)


@pytest.mark.parametrize(
    ("condition", "readings", "system", "meter", "wanted"),
    [
        (LOW, {"a": 11.0}, 12, 0.01, Truth.YES),
        # 11.95 V by a meter 1 % off: +-0.12 V, so below 12 V is not sure.
        (LOW, {"a": 11.95}, 12, 0.01, Truth.DOUBT),
        (LOW, {"a": 11.95}, 12, 0.0, Truth.YES),
        (LOW, {"a": 12.5}, 12, 0.01, Truth.NO),
        # Limits count twice on 24 V: 23 V is below 24 V.
        (LOW, {"a": 23.0}, 24, 0.01, Truth.YES),
        (LOW, {}, 12, 0.01, Truth.UNTOLD),
        (DROP, {"a": 25.0, "b": 20.0, "c": 0.1}, 24, 0.01, Truth.YES),
        # 25 - 24.4 - 0.1 = 0.5 V: at the limit, within the last digits of three readings.
        (DROP, {"a": 25.0, "b": 24.4, "c": 0.1}, 24, 0.01, Truth.DOUBT),
        (DROP, {"a": 25.0, "b": 24.4}, 24, 0.01, Truth.UNTOLD),
        (HALF, {"a": 25.0, "b": 12.5}, 24, 0.01, Truth.YES),
        (HALF, {"a": 25.0, "b": 24.0}, 24, 0.01, Truth.NO),
        # There is nothing to be a share of.
        (HALF, {"a": 0.1, "b": 0.05}, 24, 0.01, Truth.UNTOLD),
        (Condition("a", ("b",), above=0.2, scaled=False, either_way=True),
         {"a": 12.1, "b": 12.6}, 24, 0.01, Truth.YES),
    ],
)  # fmt: skip
def test_whether_a_condition_holds(
    condition: Condition, readings: dict[str, float], system: int, meter: float, wanted: Truth
) -> None:
    assert holds(condition, readings, system, meter) is wanted


def rule(*when: Condition, weight: int = 4) -> VoltageRule:
    return VoltageRule("r", "c", when, weight, "says", "source")


def test_one_that_fails_is_enough_and_missing_ones_leave_it_open() -> None:
    both = rule(LOW, DROP)
    assert rule_holds(both, {"a": 13.0}, 12, 0.01) is Truth.NO
    assert rule_holds(both, {"a": 11.0}, 12, 0.01) is Truth.UNTOLD
    assert rule_holds(both, {"a": 11.0, "b": 9.0, "c": 0.0}, 12, 0.01) is Truth.YES
    assert rule_holds(both, {"a": 11.95, "b": 9.0, "c": 0.0}, 12, 0.01) is Truth.DOUBT


def test_weights_add_up_and_doubts_count_half() -> None:
    told = [
        (rule(LOW), Truth.YES), (rule(LOW, weight=3), Truth.DOUBT), (rule(LOW), Truth.NO),
        (rule(LOW), Truth.UNTOLD), (rule(LOW, weight=-2), Truth.YES),
    ]  # fmt: skip
    assert weight_of(told) == pytest.approx(4 + 1.5 - 2)


VOLTS = st.floats(-30, 30)


@given(VOLTS, VOLTS, VOLTS, st.sampled_from((12, 24)), st.floats(0, 0.05), st.floats(0, 5))
def test_a_worse_meter_never_makes_anything_surer(
    a: float, b: float, c: float, system: int, meter: float, worse: float
) -> None:
    readings = {"a": a, "b": b, "c": c}
    for condition in (LOW, DROP):
        fine = holds(condition, readings, system, meter)
        rough = holds(condition, readings, system, meter + worse)
        assert rough in (fine, Truth.DOUBT)


@given(VOLTS, st.floats(0, 30), st.sampled_from((12, 24)))
def test_further_beyond_its_limit_a_condition_goes_on_holding(
    a: float, further: float, system: int
) -> None:
    if holds(LOW, {"a": a}, system, 0.0) is Truth.YES:
        assert holds(LOW, {"a": a - further}, system, 0.0) is Truth.YES
    value = value_of(DROP, {"a": a + further, "b": a, "c": 0.0})
    assert value == pytest.approx(further) and DIGIT_V > 0
