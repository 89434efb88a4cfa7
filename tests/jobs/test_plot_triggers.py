"""The plot and the documented form say what was found."""

from __future__ import annotations

import json

import pytest
from tests.jobs.drive_kit import asked

from asfound.demo.drives import VAN, Conditions, drive
from asfound.jobs.plot_triggers import plot_triggers
from asfound.jobs.triggers_data import triggers_data
from asfound.jobs.tune_triggers import Tuned, TuneTriggers, tune_triggers
from asfound.model.drive_log import LogFault
from asfound.model.plot import Line, Points, Rule
from asfound.ports.backends.sweep_numba import sweeps


@pytest.fixture(scope="module")
def tuned() -> Tuned:
    logs = tuple(
        asked(f"{n}.csv", drive(64100 + n, 8.5, VAN, Conditions(harsh_an_hour=22)))
        for n in range(3)
    )
    return tune_triggers(TuneTriggers(logs, 5.0, 10.0), sweeps=sweeps())


def test_plot(tuned: Tuned) -> None:
    plot = plot_triggers(tuned)
    lines = [layer for layer in plot.layers if isinstance(layer, Line)]
    assert [line.name.partition(",")[0] for line in lines] == ["forward", "sideways", "upright"]
    for line in lines:
        assert list(line.y) == sorted(line.y, reverse=True) and min(line.y) > 0
    assert any(isinstance(layer, Rule) and layer.at == 5.0 for layer in plot.layers)
    assert any(isinstance(layer, Points) for layer in plot.layers)


def test_the_documented_form(tuned: Tuned) -> None:
    data = json.loads(json.dumps(triggers_data(tuned, [LogFault("t.csv:3", "broken")])))
    assert data["format"] == "asfound-triggers/1"
    grid = data["grid"]
    for direction in ("forward", "sideways", "upright"):
        assert len(grid["directions"][direction]["events"]) == len(grid["thresholds_g"]) == 40
        assert len(grid["directions"][direction]["caught"][0]) == len(grid["durations_s"]) == 10
    caught = [label for label in data["labels"] if label["caught_by"]]
    assert len(caught) == data["whole"]["caught"] and len(data["labels"]) == data["whole"]["labels"]
    for trigger in data["triggers"]:
        d = grid["durations_s"].index(trigger["duration_s"])
        by = [label for label in data["labels"] if trigger["direction"] in label["caught_by"]]
        assert len(by) == trigger["caught"]
        for label in data["labels"]:
            up_to = label["caught_up_to_g"][trigger["direction"]][d]
            assert (label in by) == (up_to >= trigger["threshold_g"])
    assert data["judged"]["parts"] == 3 and data["judged"]["recall"] is not None
    assert data["left_out"] == [{"where": "t.csv:3", "what": "broken"}]
    assert {one["kind"] for one in data["findings"]} >= {"budget-below-what-the-hours-show"}
