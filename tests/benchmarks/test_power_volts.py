"""The measure of voltages: its circuits obey Ohm and Kirchhoff, and the tool finds their faults."""

from __future__ import annotations

from dataclasses import replace
from math import inf

import numpy as np
import pytest

import power_volts as bench
from asfound.calc.supply_leads import Lead, at_power
from asfound.ports.backends.voltage_rules_toml import load_voltage_rules

SEED = 12_000_000
"""Neither a tuning seed nor one of the figures in the guide."""
RULES = load_voltage_rules()


def test_nodes_agree_with_a_lead_worked_out_elsewhere() -> None:
    made = replace(bench.sound(np.random.default_rng(SEED)), iso=0.0, fuse=0.0, watts=30.0)
    lead = Lead(8, 1.5)
    at = bench.nodes(replace(made, plus=lead.ohms / 2, earth=lead.ohms / 2), "on")
    wanted = at_power(made.emf["on"], 30.0, lead)
    assert wanted is not None
    assert at["supply"] - at["earth"] == pytest.approx(wanted.volts)
    assert at["earth"] == pytest.approx(wanted.drop_v / 2)


def test_open_ends() -> None:
    made = bench.sound(np.random.default_rng(SEED))
    blown = bench.nodes(replace(made, fuse=inf), "on")
    assert blown["in"] == made.emf["on"] and blown["out"] == blown["supply"] == 0
    floating = bench.nodes(replace(made, earth=inf), "on")
    assert floating["earth"] == floating["supply"] == made.emf["on"]


def test_faults_that_nobody_tuned_for_are_found() -> None:
    told = bench.measure(RULES, SEED, 4)
    ways = told["ways"]
    assert isinstance(ways, dict)
    assert ways["all readings"]["right"] >= 0.95
    assert ways["by the advice"]["right"] >= 0.9
    assert ways["by the advice"]["readings"] < ways["at random"]["readings"]
