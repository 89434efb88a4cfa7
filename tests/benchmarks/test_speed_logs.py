"""The measure of clocks and pulses runs and says what it counts."""

from __future__ import annotations

import speed_logs as bench


def test_few_drives_of_tuning_seeds() -> None:
    seeds = range(3)
    clocks = bench.clocks(seeds, (12.0, 13.0))
    assert clocks["drives"] == 3 and clocks["wrong"] == 0
    assert bench.strangers(range(1))["matched"] == 0
    pulses = bench.pulses(range(2), True)
    assert pulses["drives"] == 2 and isinstance(pulses["huber_of_scikit_learn"], dict)


def test_spread() -> None:
    assert bench.spread([1.0, 2.0, 3.0], "s") == {"median_s": 2.0, "p90_s": 2.8, "worst_s": 3.0}
    assert bench.spread([], "s") == {"median_s": None, "p90_s": None, "worst_s": None}
