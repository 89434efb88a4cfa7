"""`asfound check`: what is said, JSON, facts of a vehicle, exit codes."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import typer
from tests.worked_visit import fleet_home
from typer.testing import CliRunner

from asfound.cli import check
from asfound.errors import AsfoundError, UsageError

VALUES = {
    "channel-1.in-use": "on", "channel-1.raster": "720 lines", "channel-1.frames": "15",
    "channel-1.data-rate": "2.0", "channel-1.microphone": "off", "keeping.mode": "Non-stop",
}  # fmt: skip
MARROWBY = ("--map", "marrowby-four", "--firmware", "1.12")


@pytest.fixture
def settings(tmp_path: Path) -> str:
    path = tmp_path / "settings.json"
    path.write_text(json.dumps(VALUES))
    return str(path)


def run(*arguments: str) -> tuple[int, str]:
    app = typer.Typer()

    @app.callback()
    def top() -> None:
        """A group, so that the command keeps its name."""

    check.register(app)
    result = CliRunner().invoke(app, ["check", *arguments])
    if isinstance(result.exception, AsfoundError):
        raise result.exception
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result.exit_code, result.stdout


def test_found_and_not_found(settings: str) -> None:
    # 2 Mbit/s all day: 21.6 GB a day (IEC 80000-13); 2 % of 480 GB are tables: 21.8 days.
    code, said = run(settings, *MARROWBY, "--drive", "480GB", "--promised", "30")
    assert code == 1 and "18 to 27 days are kept, 30 were promised" in said
    assert "checked: days kept" in said and "not checked: shock triggers: no certain" in said
    code, said = run(settings, *MARROWBY, "--drive", "480GB", "--promised", "14")
    assert code == 0 and "nothing speaks against these settings" in said


def test_json(settings: str) -> None:
    code, said = run(settings, *MARROWBY, "--drive", "480GB", "--promised", "30", "--json")
    data = json.loads(said)
    assert code == 1 and data["format"] == "asfound-check/1"
    [finding] = data["findings"]
    assert finding["kind"] == "too-few-days" and finding["limit"] == 30
    assert finding["measured"] == pytest.approx(480 * 0.98 / 21.6 / 0.8)
    assert data["held"] == ["days kept"] and len(data["left_out"]) == 6


def test_facts_of_a_vehicle(settings: str, tmp_path: Path) -> None:
    home = fleet_home(tmp_path)
    at = ("--home", str(home.path))
    said = run(settings, "--vehicle", "217", *at)[1]
    assert "checked: days kept" in said
    with pytest.raises(UsageError, match="305 has a quillfen-octad, not a marrowby-four"):
        run(settings, *MARROWBY, "--vehicle", "305", *at)
    with pytest.raises(UsageError, match="name the recorder"):
        run(settings, "--map", "marrowby-four")


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        (("--drive", "big"), "drive"),
        (("--hours", "25"), "hours 25"),
        (("--kind", "tram"), "kind"),
        (("--supply", "48"), "supply"),
        (("--zone", "Mars/Base"), "Mars/Base"),
        (("--year", "12"), "year"),
        (("--pulses", "9000-8000"), "the first is the least"),
        (("--pulses", "many"), "pulses"),
        (("--battery", "big"), "battery"),
        (("--draws", "25W"), "watts want the vehicle's volts"),
        (("--parked", "long"), "parked"),
    ],
)
def test_what_cannot_be(settings: str, changed: tuple[str, str], said: str) -> None:
    with pytest.raises(UsageError, match=said):
        run(settings, *MARROWBY, *changed)
