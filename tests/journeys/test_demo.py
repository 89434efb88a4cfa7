"""The whole job: `asfound demo`, then the commands a technician would use to look closer."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from pypdf import PdfReader

from asfound.cli.main import call
from asfound.errors import ExitCode


@pytest.fixture(scope="module")
def out(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A demo run as a user starts it, in a process of its own."""
    folder = tmp_path_factory.mktemp("demo") / "demo-out"
    program = [sys.executable, "-c", "from asfound.cli.entry import run; run()"]
    done = subprocess.run(
        [*program, "demo", "--out", str(folder)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    (folder / "told.txt").write_text(done.stdout)
    return folder


@pytest.fixture(scope="module")
def visit(out: Path) -> str:
    """The id of the demo's visit."""
    (report,) = [path for path in out.glob("*.pdf") if not path.stem.endswith("-rekey")]
    return report.stem


def test_the_trouble_put_in_is_found(out: Path) -> None:
    told = (out / "told.txt").read_text()
    for label in ("Wire 1 is", "Server name"):
        assert f"{label} (" in told, "the smeared values are doubts"
    assert "as left, round 1: 3 open" in told
    assert "as left, round 2: 0 open" in told
    assert "footage is held" in told
    assert "channel 3: frozen from 3." in told
    assert "recording-proved" in told


def test_the_report_says_so_too(out: Path, visit: str) -> None:
    # Read back by pypdf, an independent library.
    text = "\n".join(page.extract_text() for page in PdfReader(out / f"{visit}.pdf").pages)
    flat = " ".join(text.replace("\u200b", "").split())
    assert visit in flat
    assert "Not everything is as agreed" in flat
    for words in ("0.9 g", "10 min", "mended in round 2", "receipt 0417", "job 5582"):
        assert words in flat


def test_nothing_the_recorder_kept_secret_is_kept(out: Path) -> None:
    kept = [path.read_bytes() for path in (out / "home" / "blobs").rglob("*") if path.is_file()]
    readings = [data for data in kept if b'"radio.password"' in data and b'"photos"' in data]
    assert readings
    for data in readings:
        reading = json.loads(data)
        secrets = [f for f in reading["fields"] if f["id"] in ("radio.password", "office.code")]
        assert {f["value"] for f in secrets} <= {"set", "blank", None}
        assert {f["text"] for f in secrets} == {""}


def test_the_visit_is_closed_and_whole(
    out: Path, visit: str, capsys: pytest.CaptureFixture[str]
) -> None:
    home = str(out / "home")
    assert call(["visit", "check", visit, "--home", home]) == ExitCode.OK
    assert call(["visit", "show", visit, "--home", home]) == ExitCode.OK
    assert "closed" in capsys.readouterr().out.lower()
    late = call(["visit", "note", visit, "one more thing", "--by", "Ines", "--home", home])
    assert late not in (ExitCode.OK, ExitCode.FINDINGS)
    assert capsys.readouterr().err.count("\n") == 1


def test_a_changed_photograph_is_noticed(
    out: Path, visit: str, capsys: pytest.CaptureFixture[str]
) -> None:
    home = out / "home"
    files = [path for path in (home / "blobs").rglob("*") if path.is_file()]
    blob = max(files, key=lambda path: path.stat().st_size)
    before = blob.read_bytes()
    blob.chmod(0o600)
    blob.write_bytes(before[:-1] + bytes([before[-1] ^ 1]))
    try:
        assert call(["visit", "check", visit, "--home", str(home)]) == ExitCode.INTEGRITY
    finally:
        blob.write_bytes(before)
    told = capsys.readouterr()
    assert "asfound:" in told.err or "entry" in told.out


def test_a_folder_that_is_not_the_demos_is_left_alone(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    mine = tmp_path / "mine"
    mine.mkdir()
    (mine / "letter.txt").write_text("keep me")
    assert call(["demo", "--out", str(mine)]) == ExitCode.USAGE
    assert (mine / "letter.txt").read_text() == "keep me"
    assert "--out" in capsys.readouterr().err
