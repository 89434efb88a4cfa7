"""Burned-in clocks on the command line. What is true is what the simulator drew."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from asfound.cli import prove
from asfound.cli.prove_clock import clock_json
from asfound.demo.footage import Camera
from asfound.demo.footage_overlay import Burned, Filmed, Ticking, film_clock
from asfound.errors import UsageError
from asfound.jobs.prove_clock_words import clock_line
from asfound.model.burned_clock import BurnedClock, ClockState

RUNNER = CliRunner()
CLOCK = BurnedClock(
    ClockState.RUNS, "2026-03-24 15:07:42", (10, 8, 200, 24), 54_462.5, 0.5, (date(2026, 3, 24),),
    8, 8, 1.0, offset_s=42.5, against="the file's start in UTC", notes=("a note",),
)  # fmt: skip


@pytest.fixture(scope="module")
def clip(tmp_path_factory: pytest.TempPathFactory) -> Path:
    start = datetime(2026, 3, 24, 15, 7, tzinfo=UTC)
    ticking = Ticking(datetime(2026, 3, 24, 15, 7, 42))
    filmed = Filmed(Camera(1, "ROAD", "road", 640, 360, 5), start, 14.0, Burned(), ticking, 11)
    return film_clock(filmed, tmp_path_factory.mktemp("clip") / "cam1.mp4")


def run(*words: str) -> tuple[int, str]:
    app = typer.Typer()
    prove.register(app)
    result = RUNNER.invoke(app, [*words, "--workers", "0", "--fresh"], catch_exceptions=True)
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result.exit_code, result.stdout


def test_json_has_the_clock(clip: Path, tmp_path: Path) -> None:
    home = ("--home", str(tmp_path))
    code, text = run(str(clip), "--json", "--clock-zone", "+00:00", *home)
    [recording] = json.loads(text)["recordings"]
    clock = recording["clock"]
    assert (clock["state"], clock["days"]) == ("runs", ["2026-03-24"])
    assert abs(clock["offset_s"] - 42) <= 1 and clock["time"].startswith("15:07:4")
    assert [finding["kind"] for finding in recording["findings"]] == ["clock-offset"] and code == 1
    code, text = run(str(clip), "--json", *home)
    assert json.loads(text)["recordings"][0]["clock"] is None and code == 0


def test_a_line_for_a_person() -> None:
    assert clock_line(CLOCK) == (
        "burned-in clock: runs, 2026-03-24 15:07:42 at the start (± 0.5 s); "
        "0:42 fast against the file's start in UTC; a note"
    )
    doubtful = replace(CLOCK, state=ClockState.DOUBTFUL, offset_s=None, notes=("why",))
    assert clock_line(doubtful) == "burned-in clock: cannot be read for sure; why"
    timed = replace(CLOCK, days=(), offset_s=None, notes=())
    assert clock_line(timed) == "burned-in clock: runs, 15:07:42 at the start (± 0.5 s)"


def test_json_of_no_clock() -> None:
    assert clock_json(None) is None


def test_a_noted_clock_that_is_none(clip: Path) -> None:
    with pytest.raises(UsageError, match="--clock-now"):
        run(str(clip), "--clock-now", "noon")
