"""The sums in the report: a broken promise is one, advice is advice, not known stays so."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from asfound.jobs.report_sums import sums_data, sums_point
from asfound.jobs.report_verdict import verdict_data
from asfound.model.sums import SettingFault, SettingFinding, SettingsChecked

FEW = SettingFinding(
    SettingFault.TOO_FEW_DAYS, ("camera-1.size", "other"), 9, 14, "d", "asfound days", "9 days"
)
HIGH = SettingFinding(SettingFault.TRIGGER_HIGH, ("x",), 0.9, 0.7, "g", "a paper", "0.9 g")


@pytest.mark.parametrize(
    ("sums", "tone", "answer"),
    [
        (SettingsChecked((), ("days kept",), ()), "good", "Yes, as far"),
        (SettingsChecked((HIGH,), ("days kept",), ()), "note", "advice on 1 setting"),
        (SettingsChecked((FEW, HIGH), ("days kept",), ()), "bad", "No: 9 days."),
        (SettingsChecked((), (), ("days kept: no drive",)), "unclear", "Not known"),
    ],
)
def test_the_point_is_never_better_than_what_is_known(
    scene: Any, sums: SettingsChecked, tone: str, answer: str
) -> None:
    state = replace(scene.state, sums=sums)
    point: Any = sums_point(state)
    assert point is not None and point["tone"] == tone and answer in point["answer"]
    verdict: Any = verdict_data(state, (1,))
    assert point in verdict["points"]


def test_without_sums_there_is_no_point_and_no_list(scene: Any) -> None:
    assert sums_point(scene.state) is None
    assert sums_data(scene.state, scene.request.menu_map)["made"] is False


def test_the_list_names_settings_as_the_menu_does(scene: Any) -> None:
    checked = SettingsChecked((FEW, HIGH), ("days kept",), ("wheel pulses: not measured",))
    made: Any = sums_data(replace(scene.state, sums=checked), scene.request.menu_map)
    assert [row["tone"] for row in made["rows"]] == ["bad", "note"]
    assert made["rows"][0]["settings"].endswith("other") and made["held"] == "days kept"
    assert made["left_out"] == ["wheel pulses: not measured"]
