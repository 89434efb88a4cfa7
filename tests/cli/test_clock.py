"""`asfound clock`: what is said, JSON, exit codes. 10 ppm are 0.864 s a day (identity); changes of
zones by IANA tz database 2026f."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import typer
from tests.drive_logs import csv_of, gpx_of, put
from tests.worked_visit import fleet_home
from typer.testing import CliRunner

from asfound.cli import clock
from asfound.errors import AsfoundError, InputError, NotFound, UsageError
from simulated_drives import drive, receiver, recorder

STEADY = ("2026-03-01T08:00:00Z +2", "2026-03-31T08:00:00Z +28", "2026-04-30T08:00:00Z +54")


def run(*arguments: str | Path) -> tuple[int, str]:
    app = typer.Typer()
    clock.register(app)

    @app.callback()
    def top() -> None:
        """A group, so that the command keeps its name."""

    result = CliRunner().invoke(app, ["clock", *map(str, arguments)])
    if isinstance(result.exception, AsfoundError):
        raise result.exception
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result.exit_code, result.stdout


def test_drift() -> None:
    code, said = run("drift", *STEADY, "--until", "2026-12-31")
    assert code == 1 and "+10.03 ppm (95 %: " in said and "+0.87 s a day" in said
    assert "will-pass-what-is-allowed: it will be 60 s off on about 2026-05-0" in said
    assert "loses 3.6 s a day at -10 degrees" in said
    assert run("drift", *STEADY)[0] == 0


def test_drift_as_json_from_a_file_and_drawn(tmp_path: Path) -> None:
    rows = "true,ahead\n" + "\n".join(line.replace(" ", ",") for line in STEADY)
    file, plot = put(tmp_path, "readings.csv", rows), tmp_path / "drift.svg"
    code, said = run("drift", "--file", file, "--json", "--plot", plot)
    data = json.loads(said)
    assert code == 0 and data["format"] == "asfound-drift/1" and len(data["readings"]) == 3
    assert data["ppm"][0] < data["ppm"][1] < data["ppm"][2]
    assert data["passes"][1].startswith("2026-05-0") and plot.exists()


def test_drift_that_cannot_be(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="give readings"):
        run("drift")
    with pytest.raises(UsageError, match="there are 1"):
        run("drift", STEADY[0])
    with pytest.raises(NotFound):
        run("drift", "--file", tmp_path / "none.csv")
    with pytest.raises(InputError, match="larger"):
        run("drift", "--file", put(tmp_path, "large.csv", "x" * 30_000))


def test_zone(tmp_path: Path) -> None:
    plot = tmp_path / "year.png"
    code, said = run("zone", "Europe/Berlin", "--recorder", "+01:00", "--year", "2026",
                     "--plot", plot)  # fmt: skip
    assert code == 1 and "2026-03-29 01:00" in said and "wrong for 210.0 days" in said
    assert plot.exists()
    code, said = run("zone", "Europe/London", "--year", "2026", "--json")
    data = json.loads(said)
    assert code == 0 and data["format"] == "asfound-zone/1" and data["tzdata"] >= "2026f"
    assert data["changes"][1]["hour"] == "twice"
    assert data["changes"][1]["local"] == ["2026-10-25T01:00:00", "2026-10-25T02:00:00"]
    code, said = run("zone", "Asia/Kolkata", "--year", "2026", "--recorder", "+05:30")
    assert code == 0 and "does not change in 2026" in said and "right all year" in said


def test_match(tmp_path: Path) -> None:
    made = drive(1600, 15)
    shown = put(tmp_path, "recorder.csv", csv_of(recorder(made, 1600, 258.0, (10, 880))))
    other = put(tmp_path, "phone.gpx", gpx_of(receiver(made, 1600, 0.0)))
    code, said = run("match", shown, other, "--columns", "speed=v", "--allowed", "60s")
    assert code == 1 and "s ahead (± 0." in said and "clock-off: the clock is 25" in said
    code, said = run("match", shown, other, "--columns", "speed=v", "--json",
                     "--plot", tmp_path / "match.svg")  # fmt: skip
    data = json.loads(said)
    assert code == 0 and data["format"] == "asfound-match/1"
    assert data["offset_s"] == pytest.approx(258, abs=0.2)
    short = put(tmp_path, "short.csv", csv_of(recorder(made, 1600, 0.0, (10, 100))))
    code, said = run("match", short, other, "--columns", "speed=v")
    assert code == 1 and "could not tell" in said
    assert (
        json.loads(run("match", short, other, "--columns", "speed=v", "--json")[1])["offset_s"]
        is None
    )


def test_a_vehicle_whose_visits_told_nothing_of_the_clock(tmp_path: Path) -> None:
    fleet_home(tmp_path)
    with pytest.raises(UsageError, match="there are 0"):
        run("drift", "--vehicle", "217", "--home", tmp_path)
    code, said = run("drift", "--vehicle", "217", "--home", tmp_path, *STEADY)
    assert code == 0 and "+10.03 ppm" in said
    with pytest.raises(NotFound):
        run("drift", "--vehicle", "none", "--home", tmp_path)


def test_a_reading_out_of_line_and_a_band_that_never_ends(tmp_path: Path) -> None:
    strays = ("2026-05-30T08:00:00Z +900", "2026-06-29T08:00:00Z +106", "2026-07-29T08:00:00Z +132")
    code, said = run("drift", *STEADY, *strays, "--allowed", "1h", "--plot", tmp_path / "a.svg")
    assert code == 1 and "left out" in said and "reading-out-of-line" in said
    steady = [f"2026-0{month}-01T08:00:00Z +{2 + month % 2 / 2}" for month in range(1, 7)]
    code, said = run("drift", *steady, "--allowed", "20s")
    assert code == 0 and "off by 20 s: not within ten years" in said and "to never" in said
