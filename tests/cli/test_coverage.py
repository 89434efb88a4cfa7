"""`asfound coverage` over real files: table, JSON, CSV, requests, exit codes, empty states."""

from __future__ import annotations

import csv
import json
import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from asfound.cli import coverage
from asfound.demo.footage import Camera, Drive, film
from asfound.errors import AsfoundError, InputError, NotFound, UsageError

START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
RUNNER = CliRunner()
PATTERN = "ch{channel}_{start:%Y%m%dT%H%M%SZ}"
CLIP_S = 20


@pytest.fixture(scope="session")
def clip(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A clip of 20 seconds."""
    folder = tmp_path_factory.mktemp("coverage")
    camera = Camera(1, "ROAD", "road", 160, 96, 4)
    [path] = film(Drive(5, START, CLIP_S, (camera,)), folder)
    return path


def drive(folder: Path, clip: Path, *placed: tuple[int, float]) -> Path:
    """(channel, seconds after START) of each recording of 20 seconds."""
    made = folder / "drive"
    made.mkdir()
    for channel, second in placed:
        start = START + timedelta(seconds=second)
        shutil.copyfile(clip, made / f"ch{channel}_{start:%Y%m%dT%H%M%SZ}.mp4")
    return made


def log(folder: Path, *spans: tuple[float, float]) -> Path:
    path = folder / "log.csv"
    rows = "".join(
        f"{(START + timedelta(seconds=a)).isoformat()},"
        f"{(START + timedelta(seconds=b)).isoformat()}\n"
        for a, b in spans
    )
    path.write_text("on,off\n" + rows)
    return path


def run(*arguments: str | Path) -> tuple[int, str]:
    app = typer.Typer()

    @app.callback()
    def top() -> None:
        """A group, so that the command keeps its name."""

    coverage.register(app)
    result = RUNNER.invoke(app, ["coverage", *map(str, arguments)])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result.exit_code, result.stdout


def test_all_hours_on_disk_end_with_0(tmp_path: Path, clip: Path) -> None:
    made = drive(tmp_path, clip, (1, 0), (1, 20), (2, 0), (2, 20))
    code, out = run(
        made, "--pattern", PATTERN, "--ignition", log(tmp_path, (0, 40)), "--allow", "0"
    )
    assert code == 0
    assert out.count("100.0 %") == 2
    assert out.rstrip().endswith("complete: every hour that was expected is on disk")


def test_a_hole_ends_with_1_and_is_told_in_local_time(tmp_path: Path, clip: Path) -> None:
    made = drive(tmp_path, clip, (1, 0), (1, 40), (2, 0), (2, 20), (2, 40))
    code, out = run(
        made, "--pattern", PATTERN, "--ignition", log(tmp_path, (0, 60)),
        "--allow", "5", "--zone", "Europe/Madrid",
    )  # fmt: skip
    assert code == 1
    # 08:00:20 UTC is 09:00:20 in Spain in winter.
    assert (
        "channel 1: missing 2026-03-01 09:00:20 +01:00 to 2026-03-01 09:00:40 +01:00, 20 s" in out
    )
    assert "66.6 %" in out and "channel 2: missing" not in out


def test_json_and_csv_say_the_same(tmp_path: Path, clip: Path) -> None:
    made = drive(tmp_path, clip, (1, 0), (1, 40))
    table = tmp_path / "holes.csv"
    code, out = run(
        made, "--pattern", PATTERN, "--ignition", log(tmp_path, (0, 60)), "--allow", "5",
        "--json", "--csv", table, "--channel", "1", "--channel", "3",
        "--request", "2026-03-01T08:00:10Z/2026-03-01T08:01:30Z",
    )  # fmt: skip
    assert code == 1
    document = json.loads(out)
    assert document["format"] == "asfound-coverage/1"
    first, third = document["channels"]
    assert first["missing"] == [{"from": "2026-03-01T08:00:20Z", "to": "2026-03-01T08:00:40Z"}]
    assert first["share"] == pytest.approx(2 / 3, abs=1e-6)
    assert (third["channel"], third["share"], third["oldest"]) == (3, 0.0, None)
    found = document["found"][0]
    assert [Path(file).name for file in found["files"]] == [
        "ch1_20260301T080000Z.mp4",
        "ch1_20260301T080040Z.mp4",
    ]
    assert found["idle"] == [{"from": "2026-03-01T08:01:00Z", "to": "2026-03-01T08:01:30Z"}]
    with table.open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert rows[0] == {
        "what": "missing", "channel": "1", "from": "2026-03-01T08:00:20Z",
        "to": "2026-03-01T08:00:40Z", "hours": "0.005556",
    }  # fmt: skip
    assert {row["what"] for row in rows} == {
        "missing", "request-held", "request-missing", "request-idle",
    }  # fmt: skip


def test_a_request_is_answered_in_words(tmp_path: Path, clip: Path) -> None:
    made = drive(tmp_path, clip, (1, 0), (1, 40), (2, 0), (2, 20), (2, 40))
    code, out = run(
        made, "--pattern", PATTERN, "--ignition", log(tmp_path, (0, 60)), "--channel", "1",
        "--request", "2026-03-01T08:00:10Z/2026-03-01T08:01:10Z", "--days", "1",
    )  # fmt: skip
    assert code == 1
    for line in (
        "channel 1: 30 s of 1 min on disk, in 2 files",
        "  on disk: 2026-03-01 08:00:10 +00:00 to 2026-03-01 08:00:20 +00:00, 10 s",
        "  missing: 2026-03-01 08:00:20 +00:00 to 2026-03-01 08:00:40 +00:00, 20 s",
        "  not on disk, and not driving: 2026-03-01 08:01:00 +00:00 to 2026-03-01 08:01:10 +00:00",
        "channel 1: 20 s more in shorter holes",
    ):
        assert line in out, line
    assert "keeps fewer" not in out, "it keeps all the day's driving"


def test_a_schedule_over_a_change_of_the_clocks(tmp_path: Path, clip: Path) -> None:
    made = drive(tmp_path, clip, (1, 0))
    plan = tmp_path / "schedule.toml"
    plan.write_text(
        'format = "asfound-schedule/1"\nzone = "Europe/Madrid"\n'
        '[[hours]]\ndays = ["sat"]\nfrom = "22:00"\nto = "06:00"\n'
    )
    code, out = run(
        made, "--pattern", PATTERN, "--schedule", plan, "--json",
        "--since", "2026-03-28T12:00:00+01:00", "--until", "2026-03-29T12:00:00+02:00",
    )  # fmt: skip
    assert code == 1
    # Directive 2000/84/EC: summer time begins on 29 March 2026, the night has 7 hours.
    assert json.loads(out)["channels"][0]["expected_h"] == 7


def test_what_cannot_be_placed_is_unclear(tmp_path: Path, clip: Path) -> None:
    made = drive(tmp_path, clip, (1, 0), (1, 20))
    (made / "ch1_x.mp4").write_bytes(b"")
    code, out = run(made, "--pattern", PATTERN, "--ignition", log(tmp_path, (0, 40)))
    assert code == 1
    assert "unclear: " in out and "the file has no bytes" in out
    assert out.rstrip().splitlines()[-1].startswith("unclear: not everything")


def test_a_proof_tells_of_gaps_inside_a_file(tmp_path: Path) -> None:
    """A proof as docs/proof.md has it; 20 s with a hole from 5 s to 12 s."""
    recording = {
        "file": "ch1.mp4", "channel": 1, "codec": "h264", "width": 320, "height": 192,
        "rate_fps": 12.0, "duration_s": 20.0, "bitrate_bps": 1e6, "start": "2026-03-01T08:00:00Z",
        "findings": [{"kind": "gap", "start_s": 5.0, "end_s": 12.0, "measured": 7.0, "limit": 2.0,
                      "unit": "s", "source": "expectation", "evidence": "", "note": "a gap"}],
        "unclear": [], "thumbnails": [],
    }  # fmt: skip
    proof = tmp_path / "proof.json"
    whole = {"format": "asfound-proof/1", "verdict": "faults", "recordings": [recording]}
    proof.write_text(json.dumps(whole))
    driven = log(tmp_path, (0, 20))
    code, out = run(proof, "--ignition", driven, "--allow", "2", "--json")
    assert code == 1
    [channel] = json.loads(out)["channels"]
    assert channel["missing"] == [{"from": "2026-03-01T08:00:05Z", "to": "2026-03-01T08:00:12Z"}]
    with pytest.raises(UsageError, match="stands alone"):
        run(proof, tmp_path, "--ignition", driven)
    whole["recordings"] = [{**recording, "duration_s": "long"}]
    proof.write_text(json.dumps(whole))
    with pytest.raises(InputError, match=r"recordings\.0\.duration_s"):
        run(proof, "--ignition", driven)
    proof.write_text("{")
    with pytest.raises(InputError, match=r"proof\.json: file"):
        run(proof, "--ignition", driven)
    with pytest.raises(NotFound, match="no such file"):
        run(tmp_path / "none.json", "--ignition", driven)


def test_nothing_that_could_be_placed(tmp_path: Path, clip: Path) -> None:
    folder = tmp_path / "drive"
    folder.mkdir()
    (folder / "front.mp4").write_bytes(b"")
    code, out = run(folder, "--ignition", log(tmp_path, (0, 40)))
    assert code == 1
    assert "no channel is known" in out


@pytest.mark.parametrize(
    ("arguments", "error", "says"),
    [
        ([], UsageError, "--ignition LOG.csv or --schedule"),
        (["--ignition", "none.csv"], NotFound, "none.csv"),
        (["--schedule", "a.toml", "--ignition", "b.csv"], UsageError, "one of them"),
        (["--ignition", "LOG", "--since", "yesterday"], UsageError, "--since"),
        (["--ignition", "LOG", "--request", "2026-03-01T08:00:00Z"], UsageError, "--request"),
        (["--ignition", "LOG", "--request", "2026-03-01T08:00:00Z/2026-03-01T07:00:00Z"],
         UsageError, "before it begins"),
        (["--ignition", "LOG", "--days", "0"], UsageError, "--days"),
        (["--ignition", "LOG", "--allow", "nan"], UsageError, "--allow"),
        (["--ignition", "LOG", "--channel", "0"], UsageError, "--channel"),
        (["--ignition", "LOG", "--zone", "Middle/Earth"], UsageError, "--zone"),
        (["--ignition", "LOG", "--csv", "LOG"], UsageError, "is not a table of holes"),
        (["--ignition", "LOG", "--csv", "nowhere/x.csv"], NotFound, "no such folder"),
        (["--ignition", "CLIP"], InputError, "not UTF-8|columns|no CSV"),
    ],
)  # fmt: skip
def test_mistakes_are_one_line(
    tmp_path: Path, clip: Path, arguments: list[str], error: type[AsfoundError], says: str
) -> None:
    made = drive(tmp_path, clip, (1, 0))
    places = {"LOG": str(log(tmp_path, (0, 40))), "CLIP": str(clip)}
    with pytest.raises(error, match=says):
        run(made, *(places.get(argument, argument) for argument in arguments))
