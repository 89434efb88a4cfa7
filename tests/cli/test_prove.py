"""`asfound prove`: table, JSON, exit codes. The JSON form is DESIGN's asfound-proof/1."""

from __future__ import annotations

import json
import os
from datetime import UTC, datetime
from pathlib import Path

import pytest
import typer
from jsonschema import Draft202012Validator
from typer.testing import CliRunner

from asfound.cli import prove
from asfound.demo.footage import Camera, Drive, Fault, film
from asfound.errors import InputError, NotFound, RecordingError, UsageError
from asfound.ports.backends import workers_dask

START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
RUNNER = CliRunner()

NUMBER = {"type": ["number", "null"]}
SCHEMA = {
    "type": "object",
    "required": ["format", "verdict", "recordings"],
    "properties": {
        "format": {"const": "asfound-proof/1"},
        "verdict": {"enum": ["records", "faults", "unclear"]},
        "recordings": {
            "type": "array",
            "items": {
                "type": "object",
                "required": [
                    "file", "channel", "codec", "width", "height", "rate_fps", "duration_s",
                    "bitrate_bps", "start", "findings",
                ],
                "properties": {
                    "file": {"type": "string"},
                    "channel": {"type": ["integer", "null"]},
                    "width": {"type": "integer"},
                    "rate_fps": NUMBER,
                    "start": {
                        "type": ["string", "null"],
                        "pattern": r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?Z$",
                    },
                    "findings": {
                        "type": "array",
                        "items": {
                            "type": "object",
                            "required": [
                                "kind", "start_s", "end_s", "measured", "limit", "unit", "source",
                                "evidence",
                            ],
                        },
                    },
                },
            },
        },
    },
}  # fmt: skip


def app() -> typer.Typer:
    made = typer.Typer()

    @made.callback()
    def top() -> None:
        """A group, so that the command keeps its name."""

    prove.register(made)
    return made


@pytest.fixture(autouse=True)
def home(monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A home folder of our own."""
    made = tmp_path_factory.mktemp("home")
    monkeypatch.setenv("ASFOUND_HOME", str(made))
    return made


def told(*arguments: str | Path) -> tuple[int, str, str]:
    """Exit code, standard output and standard error."""
    result = RUNNER.invoke(app(), ["prove", *map(str, arguments)])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result.exit_code, result.stdout, result.stderr


def run(*arguments: str | Path) -> tuple[int, str]:
    """Without worker processes, which have tests of their own."""
    code, out, _ = told(*arguments, "--workers", "0")
    return code, out


def drive(folder: Path, *faults: Fault) -> Path:
    film(Drive(8, START, 5, (Camera(1, "ROAD", "road", 320, 192, faults=faults),)), folder)
    return folder


def test_a_camera_that_records_ends_with_0(tmp_path: Path) -> None:
    code, out = run(drive(tmp_path))
    assert code == 0
    assert "h264 320x192" in out
    assert out.rstrip().endswith("records: every channel records as it should")


def test_a_fault_ends_with_1_and_is_told_in_a_line(tmp_path: Path) -> None:
    code, out = run(drive(tmp_path, Fault("black", 2)))
    assert code == 1
    assert "black, 0:02 to 0:05: the picture is black" in out
    assert "faults: there are faults" in out


def test_json_is_as_documented(tmp_path: Path) -> None:
    code, out = run(drive(tmp_path, Fault("no-signal", 1)), "--json")
    document = json.loads(out)
    Draft202012Validator(SCHEMA).validate(document)
    assert code == 1
    [recording] = document["recordings"]
    assert recording["start"] == "2026-03-01T08:00:00Z"
    [finding] = recording["findings"]
    assert finding["kind"] == "no-signal"
    assert finding["evidence"] == ""
    assert "0016B" in finding["source"]


def test_pictures_are_kept_where_they_are_wanted(tmp_path: Path) -> None:
    kept = tmp_path / "pictures"
    _, out = run(drive(tmp_path / "f", Fault("no-signal", 1)), "--json", "--pictures", kept)
    [recording] = json.loads(out)["recordings"]
    names = {thumbnail["picture"] for thumbnail in recording["thumbnails"]}
    names.add(recording["findings"][0]["evidence"])
    stored = [path for path in kept.rglob("*") if path.is_file()]
    assert len(stored) == len(names) > 2
    assert all(path.read_bytes()[:3] == b"\xff\xd8\xff" for path in stored), "JPEG (ITU-T T.81)"


def test_an_expectation_is_held_against_it(tmp_path: Path) -> None:
    expect = tmp_path / "expect.toml"
    expect.write_text(
        'format = "asfound-expect/1"\n'
        '[[channel]]\nchannel = 1\nsize = "640x360"\n'
        "[[channel]]\nchannel = 2\n"
    )
    code, out = run(drive(tmp_path / "f"), "--expect", expect)
    assert code == 1
    assert "wrong-size" in out and "320x192 instead of 640x360" in out
    assert "channel 2: nothing was found" in out


def test_what_cannot_be_told_ends_with_1(tmp_path: Path) -> None:
    next(drive(tmp_path).iterdir()).rename(tmp_path / "front.mp4")
    code, out = run(tmp_path)
    assert code == 1
    assert "unclear: which channel it is cannot be told" in out


def test_errors_are_raised_for_the_one_line_on_stderr(tmp_path: Path) -> None:
    with pytest.raises(NotFound, match="nowhere"):
        run(tmp_path / "nowhere")
    with pytest.raises(RecordingError, match="no recordings"):
        run(tmp_path)
    wrong = tmp_path / "expect.toml"
    wrong.write_text('format = "asfound-expect/1"\nsize = 3\n')
    with pytest.raises(InputError, match=r"expect\.toml:2: size"):
        run(drive(tmp_path / "f"), "--expect", wrong)


def aged(folder: Path) -> Path:
    """Files that were written a while ago."""
    for path in folder.iterdir():
        os.utime(path, (path.stat().st_atime, path.stat().st_mtime - 60))
    return folder


def test_worker_processes_find_the_same(tmp_path: Path) -> None:
    folder = drive(tmp_path, Fault("black", 2))
    assert told(folder, "--json")[:2] == run(folder, "--json")


def test_known_files_are_said_and_not_looked_at_again(tmp_path: Path, home: Path) -> None:
    folder = aged(drive(tmp_path, Fault("no-signal", 1)))
    first = told(folder, "--workers", "0")
    assert first[2] == ""
    assert (home / "proofs.db").is_file()
    again = told(folder, "--workers", "0")
    assert again[:2] == first[:2]
    assert "1 file known from before" in again[2]
    assert told(folder, "--workers", "0", "--fresh") == first


def test_nothing_is_remembered_inside_what_is_looked_at(tmp_path: Path) -> None:
    folder = aged(drive(tmp_path))
    for _ in range(2):
        code, _, err = told(folder, "--workers", "0", "--home", folder / "home")
        assert code == 0
        assert "nothing is remembered" in err
    assert not (folder / "home").exists()


@pytest.mark.parametrize("text", ["many", "-2", "dask://", "dask://host", "dask://host:x"])
def test_workers_that_there_are_not(tmp_path: Path, text: str) -> None:
    with pytest.raises(UsageError, match=f"--workers {text}"):
        told(drive(tmp_path), "--workers", text)


def test_a_cluster_that_does_not_answer(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workers_dask, "CONNECT_S", 0.5)
    # Port 9 (discard, RFC 863): nobody listens there.
    with pytest.raises(NotFound, match="does not answer"):
        told(drive(tmp_path), "--workers", "dask://127.0.0.1:9")


def test_a_stamp_of_2040_is_told_as_a_clock_ahead(tmp_path: Path) -> None:
    [clip] = film(Drive(5, START, 6, (Camera(1, "ROAD", "road", 160, 96, 4),)), tmp_path / "clip")
    drive = tmp_path / "drive"
    drive.mkdir()
    for stamp in ("20260301T080000Z", "20260301T080006Z", "20400301T080000Z"):
        (drive / f"ch1_{stamp}.mp4").write_bytes(clip.read_bytes())
    pattern = "ch{channel}_{start:%Y%m%dT%H%M%SZ}"
    arguments = ["prove", str(drive), "--pattern", pattern, "--workers", "0", "--json"]
    result = RUNNER.invoke(app(), arguments)
    assert result.exit_code == 1
    found = {
        Path(one["file"]).name: [item["kind"] for item in one["findings"]]
        for one in json.loads(result.stdout)["recordings"]
    }
    assert found == {
        "ch1_20260301T080000Z.mp4": [],
        "ch1_20260301T080006Z.mp4": [],
        "ch1_20400301T080000Z.mp4": ["clock-offset"],
    }
