"""`asfound cut`: what is said, JSON, the ways to write a time, exit codes."""

from __future__ import annotations

import hashlib
import json
from datetime import UTC, datetime
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from asfound.cli import cut
from asfound.cli.times import parse_seconds
from asfound.demo.footage import Camera, Coding, Drive, film
from asfound.errors import AsfoundError, NotFound, RecordingError, UsageError

RUNNER = CliRunner()


@pytest.fixture(scope="module")
def clip(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """12 seconds with a key picture every 2 s."""
    folder = tmp_path_factory.mktemp("cut")
    camera = Camera(1, "ROAD", "road", 160, 96, 6, coding=Coding(key_every_s=2.0))
    [path] = film(Drive(5, datetime(2026, 3, 1, 8, 0, tzinfo=UTC), 12, (camera,)), folder)
    return path


def run(*arguments: str | Path) -> tuple[int, str]:
    app = typer.Typer()

    @app.callback()
    def top() -> None:
        """A group, so that the command keeps its name."""

    cut.register(app)
    result = RUNNER.invoke(app, ["cut", *map(str, arguments)])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result.exit_code, result.stdout


def test_it_says_what_the_clip_really_holds(clip: Path, tmp_path: Path) -> None:
    out = tmp_path / "part.mp4"
    code, said = run(clip, "--from", "5", "--to", "0:08", out)
    assert code == 0
    assert f"{out}: 4.00 to 8.00 s of {clip.name}, 4.00 s" in said
    assert "1 stream of pictures, no sound; 24 packets copied as coded" in said
    assert hashlib.sha256(out.read_bytes()).hexdigest() in said


def test_json(clip: Path, tmp_path: Path) -> None:
    out = tmp_path / "part.mp4"
    code, said = run(clip, "--from", "0:00:05.5", "--to", "99", out, "--json")
    document = json.loads(said)
    assert code == 0
    assert document["format"] == "asfound-clip/1"
    assert (document["start_s"], document["end_s"]) == (4.0, 12.0)
    assert document["sha256"] == hashlib.sha256(out.read_bytes()).hexdigest()
    assert document["size_bytes"] == out.stat().st_size


@pytest.mark.parametrize(
    ("text", "seconds"),
    [("5", 5), ("5.25", 5.25), ("75", 75), ("1:15", 75), ("1:02:03.5", 3723.5), ("00:05", 5)],
)
def test_ways_to_write_a_time(text: str, seconds: float) -> None:
    assert parse_seconds(text, "--from") == seconds


@pytest.mark.parametrize("text", ["", "-1", "1:75", "1:60:00", "5s", "nan", "1e3", "٣", "::5"])
def test_what_is_no_time(text: str) -> None:
    with pytest.raises(UsageError, match="--from"):
        parse_seconds(text, "--from")


@pytest.mark.parametrize(
    ("file", "arguments", "error", "says"),
    [
        ("CLIP", ["--from", "5", "--to", "5", "x.mp4"], UsageError, "is not after"),
        ("CLIP", ["--from", "20", "--to", "30", "x.mp4"], UsageError, r"is 12\.0 s long"),
        ("CLIP", ["--from", "1", "--to", "2", "x.mkv"], UsageError, r"end with \.mp4"),
        ("none.mp4", ["--from", "1", "--to", "2", "x.mp4"], NotFound, "none.mp4"),
        ("text.mp4", ["--from", "1", "--to", "2", "x.mp4"], RecordingError, "not a recording"),
    ],
)
def test_mistakes_are_one_line(
    clip: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    file: str,
    arguments: list[str],
    error: type[AsfoundError],
    says: str,
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "text.mp4").write_text("no recording")
    with pytest.raises(error, match=says):
        run(clip if file == "CLIP" else file, *arguments)
    assert [item.name for item in tmp_path.iterdir()] == ["text.mp4"]
