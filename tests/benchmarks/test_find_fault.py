"""The measure of finding faults: it tells better ways from worse ones, and it is fair to each."""

from __future__ import annotations

import numpy as np
import pytest

import find_fault as bench
from asfound.jobs.fault_tables import fault_tables
from asfound.model.fault_guide import OTHER
from asfound.ports.backends.cautions_toml import load_cautions
from asfound.ports.backends.faults_toml import SHIPPED, load_faults

GUIDE = load_faults(SHIPPED, load_cautions())
SEED = 6_000_000
"""Neither a tuning seed nor one of the figures in the guide."""


@pytest.fixture(autouse=True)
def small(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bench, "PARKS", 2)
    monkeypatch.setattr(bench, "VISITS", 60)


def test_bits_a_minute_beats_the_guides_order_and_the_likeliest_cause() -> None:
    told = bench.compare_ways(GUIDE, SEED, 30)
    assert told["bits a minute"]["ratio"] == 1
    assert told["in order"]["ratio"] > 1.3 and told["likeliest"]["ratio"] > 1.05
    assert told["no checks"]["checks"] == 0
    assert told["bits a minute, until sure"]["first_repair_right"] > 0.8


def test_closed_visits_of_another_park_make_it_faster() -> None:
    told = bench.learn(GUIDE, SEED, 30)
    assert told["shipped"]["ratio"] == 1 and told["all learned"]["ratio"] < 0.95
    assert told["all learned"]["bits_short_at_start"] < told["shipped"]["bits_short_at_start"]


def test_every_walk_pays_for_what_it_did() -> None:
    rng = np.random.default_rng(SEED)
    tables = fault_tables(GUIDE)
    made = bench.park(GUIDE, rng, None)
    minutes = {cause.id: cause.minutes for cause in GUIDE.causes}
    for met in [bench.case(made, rng) for _ in range(20)]:
        assert 1 <= len(met.reported) <= bench.REPORTED
        right = GUIDE.causes[met.cause].id
        for way in bench.WAYS:
            walk = bench.walk(tables, met, way)
            place, tools, paid = "", set[str](), 0.0
            for name, outcome in walk.evidence.checked:
                assert outcome == met.shows[name]
                question = GUIDE.question(name)
                paid += GUIDE.minutes_for(question, place, tools)
                place, tools = question.place or place, tools | set(question.tools)
            repairs = sum(minutes[name] for name in walk.evidence.tried)
            rest = walk.minutes - paid - repairs
            assert rest == pytest.approx(minutes[right]) or rest == pytest.approx(minutes[OTHER])
            assert right not in walk.evidence.tried
