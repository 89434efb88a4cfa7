"""What was typed about measured voltages, as a request for a judgement."""

from __future__ import annotations

from asfound.calc.supply_leads import at_power
from asfound.errors import UsageError
from asfound.jobs.asked import Fields, text_of
from asfound.jobs.asked_power import (
    VOLTS,
    amount,
    amount_of,
    lead_of,
    percent,
    range_of,
    system_of,
)
from asfound.jobs.judge_volts import JudgeVolts
from asfound.model.voltage_rules import VoltageRules

LEAST, MOST, LEAD_DROP = "recorder-least", "recorder-most", "lead-drop"
"""Readings that are worked out of what is known."""
CAUTIONS = ("park", "battery", "isolator", "airbag", "high-voltage")
"""What to look out for at this work: ids of data/cautions.toml."""
NAMES = (
    "system", "meter", "code", "least", "most", "draws", "length", "section", "lead_celsius",
)  # fmt: skip
"""The fields beside the readings, which are named by their ids: system 24V · meter 1% · code H, or
least 9V and most 36V · draws 25W · length 8m · section 1.5mm2."""


def ask_volts(fields: Fields, rules: VoltageRules) -> JudgeVolts:
    """The request. Raises UsageError, also for a field that is no reading."""
    system = system_of(fields)
    places = {name: place for name, place in rules.readings.items() if not place.given}
    if unknown := [name for name in fields if name not in places and name not in NAMES]:
        raise UsageError(f"there is no reading {', '.join(unknown)}; there are {', '.join(places)}")
    readings = {
        name: amount(text, name, VOLTS, -100, 100)
        for name in places
        if (text := text_of(fields, name))
    }
    readings.update(_known(fields, system, rules))
    return JudgeVolts(system, readings, percent(fields, "meter", "1%", 0, 0.1))


def _known(fields: Fields, system: int, rules: VoltageRules) -> dict[str, float]:
    known = {}
    taken = range_of(fields)
    if taken is not None:
        known[LEAST], known[MOST] = taken[1]
    lead = lead_of(fields)
    draws = amount_of(fields, "draws", {"W": 1.0}, 0, 10_000)
    if lead is not None:
        if draws is None:
            raise UsageError(
                "draws is missing: what leads lose depends on it; write for example 25W"
            )
        load = at_power(system, draws, lead) if draws else None
        if draws and load is None:
            raise UsageError("such leads cannot carry that load: check length, section and draws")
        known[LEAD_DROP] = load.drop_v / 2 if load is not None else 0.0
    return {name: value for name, value in known.items() if name in rules.readings}
