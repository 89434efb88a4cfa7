"""`asfound speed`: what is said, JSON, exit codes. The simulation knows the pulses it put in."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import typer
from tests.drive_logs import gpx_of, pulses_of, put
from typer.testing import CliRunner

from asfound.cli import speed
from asfound.errors import AsfoundError, NotFound, UsageError
from simulated_drives import drive, pulse_counts, receiver


def run(*arguments: str | Path) -> tuple[int, str]:
    app = typer.Typer()
    speed.register(app)

    @app.callback()
    def top() -> None:
        """A group, so that the command keeps its name."""

    result = CliRunner().invoke(app, ["speed", *map(str, arguments)])
    if isinstance(result.exception, AsfoundError):
        raise result.exception
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result.exit_code, result.stdout


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("logs")
    made = drive(1500, 20)
    put(place, "drive.gpx", gpx_of(receiver(made, 1500, 0.0)))
    put(place, "pulses.csv", pulses_of(*pulse_counts(made, 1500, 8230)))
    return place


def test_limits(folder: Path) -> None:
    code, said = run("over", folder / "drive.gpx", "--limit", "50km/h", "--budget", "1")
    assert code == 1 and "over-the-limit: 50 km/h were passed" in said
    assert "a speedometer may show up to 59 (UN R39)" in said
    assert run("over", folder / "drive.gpx", "--limit", "200km/h")[0] == 0


def test_limits_as_json_and_drawn(folder: Path, tmp_path: Path) -> None:
    plot = tmp_path / "plot.svg"
    asked = ("--limit", "50km/h", "--limits", "40..60/10", "--json", "--plot", str(plot))
    code, said = run("over", folder / "drive.gpx", *asked)
    data = json.loads(said)
    assert code == 1 and data["format"] == "asfound-speed/1" and data["days"] == 1
    assert data["table"]["limits_kmh"] == [40, 50, 60]
    assert data["count"] == len(data["events"]) == data["table"]["events"][1][1]
    assert data["events_a_day"][0] < data["events_a_day"][1] < data["events_a_day"][2]
    assert plot.read_text("utf-8").startswith("<svg")


def test_pulses(folder: Path) -> None:
    files = (folder / "drive.gpx", "--pulses", folder / "pulses.csv", "--pulse-times", "s")
    code, said = run("pulses", *files, "--setting", "8000", "--tyre", "295/80R22.5")
    assert code == 1 and "setting-off: set are 8000, measured 8" in said
    assert "pulses a turn of the wheel" in said
    code, said = run("pulses", *files, "--same-clock", "--json")
    data = json.loads(said)
    assert code == 0 and data["format"] == "asfound-pulses/1"
    assert data["per_km"][1] == pytest.approx(8230, rel=3e-3)
    assert data["clock_offset_s"] is None and data["distance_from"] == "speeds"


def test_what_cannot_be(folder: Path) -> None:
    with pytest.raises(NotFound, match=r"none\.gpx: no such file"):
        run("over", folder / "none.gpx", "--limit", "50km/h")
    with pytest.raises(UsageError, match="limit"):
        run("over", folder / "none.gpx", "--limit", "fast")
    with pytest.raises(UsageError, match="--plot"):
        run("over", folder / "drive.gpx", "--limit", "50km/h", "--plot", folder / "plot.gif")
    with pytest.raises(UsageError, match="count"):
        run("pulses", folder / "drive.gpx", "--pulses", folder / "drive.gpx")
