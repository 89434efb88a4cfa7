"""`asfound triggers`: table, JSON, plot, exit codes; drives are simulated (demo/drives.py)."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest
import typer
from tests.jobs.drive_kit import csv_of
from typer.testing import CliRunner

from asfound.cli import triggers, wiring
from asfound.demo.drives import START_S, VAN, Conditions, Drive, drive
from asfound.errors import AsfoundError, InputError, NotFound, UsageError
from asfound.ports.sweeps import PlainSweeps


def run(*arguments: str | Path) -> tuple[int, str]:
    app = typer.Typer()

    @app.callback()
    def top() -> None:
        """A group, so that the command keeps its name."""

    triggers.register(app)
    result = CliRunner().invoke(app, ["triggers", *map(str, arguments)])
    if isinstance(result.exception, AsfoundError):
        raise result.exception
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result.exit_code, result.stdout


def written(folder: Path, name: str, made: Drive) -> tuple[Path, Path, Path]:
    log, track, labels = (folder / f"{name}-{part}.csv" for part in ("log", "track", "labels"))
    log.write_bytes(csv_of(made))
    rows = zip(made.track.times_s, made.track.speed_ms, made.track.course_deg, strict=True)
    track.write_text(
        "time,speed,course\n"
        + "\n".join(
            f"{datetime.fromtimestamp(at, UTC).isoformat()},{speed * 3.6:.2f},{course:.1f}"
            for at, speed, course in rows
        )
    )
    labels.write_text(
        "start,end,kind\n"
        + "\n".join(
            f"{one.start_s - START_S:.2f},{one.end_s - START_S:.2f},{one.kind}"
            for one in made.labels
        )
    )
    return log, track, labels


@pytest.fixture(scope="module")
def trips(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[Path, Path, Path]]:
    folder = tmp_path_factory.mktemp("trips")
    how = Conditions(harsh_an_hour=22)
    return [written(folder, f"{n}", drive(64200 + n, 8.5, VAN, how)) for n in range(3)]


def options(trips: list[tuple[Path, Path, Path]]) -> list[str | Path]:
    made: list[str | Path] = [log for log, _, _ in trips]
    for _, track, labels in trips:
        made += ["--track", track, "--labels", labels]
    return made


def test_what_is_said(trips: list[tuple[Path, Path, Path]]) -> None:
    code, said = run(*options(trips), "--budget", "3/day")
    assert code == 1
    assert said.count("0.14 h at 25 Hz, in m/s2, up within") == 3 and "forward within" in said
    assert "filter: Butterworth low-pass 5 Hz, order 4, causal" in said
    assert "judged on 3 parts of the logs" in said and "labels caught" in said
    assert "one raw sample at 0.4 g" in said
    assert "found budget-below-what-the-hours-show: 0.425 h of log cannot show 3 events" in said


def test_json_and_plot(trips: list[tuple[Path, Path, Path]], tmp_path: Path) -> None:
    plot = tmp_path / "events.svg"
    code, said = run(*options(trips), "--json", "--plot", plot)
    data = json.loads(said)
    assert data["format"] == "asfound-triggers/1" and code == (1 if data["findings"] else 0)
    assert [log["rate_hz"] for log in data["logs"]] == [25.0] * 3
    assert plot.read_bytes().startswith(b"<svg")
    kinds = {label["kind"] for label in data["labels"]}
    fewer = json.loads(run(*options(trips), "--json", "--not-harsh", min(kinds))[1])
    assert {label["kind"] for label in fewer["labels"]} == kinds - {min(kinds)}


def test_nothing_found_is_0(tmp_path: Path) -> None:
    log, track, _ = written(tmp_path, "calm", drive(64300, 60, VAN, Conditions(harsh_an_hour=1)))
    code, said = run(log, "--track", track, "--budget", "400/day")
    assert code == 0 and "\nfound " not in said and "judged on 5 parts" in said


def test_what_cannot_be(trips: list[tuple[Path, Path, Path]], tmp_path: Path) -> None:
    log, _, labels = trips[0]
    with pytest.raises(NotFound):
        run(tmp_path / "none.csv", "--budget", "3/day")
    with pytest.raises(UsageError, match="a budget is needed"):
        run(log)
    with pytest.raises(UsageError, match=r"\.svg, \.png or \.pdf"):
        run(log, "--budget", "3/day", "--plot", "x.txt")
    with pytest.raises(UsageError, match="which column is"):
        run(labels, "--budget", "3/day")
    (tmp_path / "empty.csv").write_text("")
    with pytest.raises(InputError, match="is empty"):
        run(tmp_path / "empty.csv", "--budget", "3/day")


def test_without_the_compiler_it_is_told(
    trips: list[tuple[Path, Path, Path]], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(wiring, "sweeps", PlainSweeps)
    monkeypatch.setattr(triggers, "SLOW_SAMPLES", 100)
    with_it = run(trips[0][0], "--budget", "400/day", "--json")
    monkeypatch.undo()
    assert json.loads(with_it[1]) == json.loads(
        run(trips[0][0], "--budget", "400/day", "--json")[1]
    )
