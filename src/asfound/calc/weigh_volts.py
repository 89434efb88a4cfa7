"""Whether rules about voltages hold, with the meter's error in mind, and what they add up to.

    value   = (of - sum of minus) / share_of
    error   = meter * |of - sum of minus| + DIGIT_V for each reading beyond the first, / |share_of|

One meter takes all readings, so its scale error cancels in a difference but for the difference's
own share; its last digit and a hand that shakes remain. A value nearer to a limit than its error
neither holds nor fails for sure: it is a doubt, and a doubtful rule counts half.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import StrEnum

from asfound.model.voltage_rules import Condition, VoltageRule

DIGIT_V = 0.02
"""Last digit of a multimeter and what the vehicle changes between two readings [V] (own choice)."""


class Truth(StrEnum):
    """Whether something holds."""

    YES = "holds"
    DOUBT = "within-the-meter's-error"
    NO = "does-not-hold"
    UNTOLD = "not-measured"


def value_of(condition: Condition, readings: Mapping[str, float]) -> float | None:
    """What a condition looks at [V, or 1 of a share]; None: a reading is missing, or there is
    nothing to be a share of."""
    if any(name not in readings for name in condition.readings):
        return None
    value = readings[condition.of] - sum(readings[name] for name in condition.minus)
    if condition.share_of:
        whole = readings[condition.share_of]
        if abs(whole) < 1.0:
            return None
        value /= whole
    return abs(value) if condition.either_way else value


def error_of(condition: Condition, value: float, meter: float, whole: float = 1.0) -> float:
    """Error of ``value`` [V, or 1 of a share of ``whole`` V]."""
    others = len(condition.minus) + bool(condition.share_of)
    scale = abs(whole) if condition.share_of else 1.0
    # A share of two readings of one meter keeps only their last digits.
    own = 0.0 if condition.share_of else meter * abs(value)
    return own + DIGIT_V * others / scale


def holds(condition: Condition, readings: Mapping[str, float], system: int, meter: float) -> Truth:
    """Whether a condition holds on a vehicle of ``system`` volts."""
    value = value_of(condition, readings)
    if value is None:
        return Truth.UNTOLD
    error = error_of(condition, value, meter, readings.get(condition.share_of, 1.0))
    scale = system / 12 if condition.scaled and not condition.share_of else 1.0
    sides = []
    if condition.below is not None:
        sides.append(condition.below * scale - value)
    if condition.above is not None:
        sides.append(value - condition.above * scale)
    worst = min(sides)
    if abs(worst) <= error:
        return Truth.DOUBT
    return Truth.YES if worst > 0 else Truth.NO


def rule_holds(
    rule: VoltageRule, readings: Mapping[str, float], system: int, meter: float
) -> Truth:
    """Whether a rule holds: all of its conditions do. One that fails is enough for no."""
    found = [holds(condition, readings, system, meter) for condition in rule.when]
    for truth in (Truth.NO, Truth.UNTOLD, Truth.DOUBT):
        if truth in found:
            return truth
    return Truth.YES


def weight_of(rules: Sequence[tuple[VoltageRule, Truth]]) -> float:
    """Weights of those that hold, doubtful ones by half."""
    counted = {Truth.YES: 1.0, Truth.DOUBT: 0.5}
    return sum(rule.weight * counted.get(truth, 0.0) for rule, truth in rules)
