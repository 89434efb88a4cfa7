"""A pulled drive of many files: stopped, killed, resumed, and never written to."""

from __future__ import annotations

import hashlib
import os
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from asfound.cli.entry import STOPPED
from asfound.cli.main import call
from asfound.demo.footage import Camera, Drive, Fault, film
from asfound.errors import ExitCode

START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
SMALL = Camera(1, "ROAD", "road", 160, 96, 10)
COPIES = 40


@pytest.fixture(scope="module")
def drive(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Files of two cameras, one faulty; all but two copies that a few bytes tell apart."""
    folder = tmp_path_factory.mktemp("drive")
    faulty = replace(SMALL, channel=2, faults=(Fault("no-signal", 1),))
    made = film(Drive(5, START, 4, (SMALL, faulty)), folder / "0")
    for number in range(1, COPIES // 2):
        (folder / str(number)).mkdir()
        for path in made:
            copy = folder / str(number) / path.name
            copy.write_bytes(path.read_bytes() + bytes(number))
    for path in folder.rglob("*.mp4"):
        os.utime(path, (1_700_000_000, 1_700_000_000))
    return folder


def started(home: Path, *arguments: str | Path) -> subprocess.Popen[str]:
    """The command in a session of its own, as from a terminal."""
    return subprocess.Popen(
        [sys.executable, "-m", "asfound", "prove", *map(str, arguments), "--home", str(home)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )


def kept(home: Path) -> int:
    """How many results are stored."""
    if not (home / "proofs.db").exists():
        return 0
    with closing(sqlite3.connect(home / "proofs.db", timeout=10)) as base:
        try:
            return int(base.execute("SELECT count(*) FROM looks").fetchone()[0])
        except sqlite3.OperationalError:
            return 0


def wait_for(home: Path, count: int, job: subprocess.Popen[str]) -> None:
    """Until so many results are stored."""
    deadline = time.monotonic() + 60
    while kept(home) < count:
        assert job.poll() is None, "it ended too early"
        assert time.monotonic() < deadline
        time.sleep(0.01)


def workers_left() -> list[str]:
    """Worker processes of whatever session whose parent has gone (Linux, proc(5))."""
    found = []
    for place in Path("/proc").glob("[0-9]*"):
        try:
            line = (place / "cmdline").read_bytes().replace(b"\0", b" ").decode()
            status = (place / "status").read_text()
        except OSError:
            continue
        if "asfound.ports.backends.worker_child" in line and "PPid:\t1\n" in status:
            found.append(line)
    return found


@pytest.mark.parametrize(
    ("workers", "how"), [("2", signal.SIGINT), ("2", signal.SIGKILL), ("dask", signal.SIGINT)]
)
def test_what_was_finished_is_not_looked_at_again(
    drive: Path, tmp_path: Path, workers: str, how: int
) -> None:
    home = tmp_path / "home"
    with started(home, drive, "--workers", workers) as job:
        wait_for(home, 3, job)
        # Ctrl-C reaches every process of the terminal's foreground group (POSIX, 11.1.9).
        os.killpg(job.pid, how)
        out, err = job.communicate(timeout=30)
    if how == signal.SIGINT:
        assert (job.returncode, out, err) == (ExitCode.INTERRUPTED, "", f"{STOPPED}\n")
    done = kept(home)
    assert 3 <= done < COPIES
    with started(home, drive, "--workers", "2") as job:
        out, err = job.communicate(timeout=120)
    assert job.returncode == ExitCode.FINDINGS
    assert f"{done} files known from before" in err
    assert kept(home) == COPIES
    assert out.count("no-signal, 0:01") == COPIES // 2
    deadline = time.monotonic() + 10
    while workers_left() and time.monotonic() < deadline:
        time.sleep(0.1)
    assert workers_left() == []


def trail(folder: Path) -> dict[str, tuple[int, int, int, int, str]]:
    """What any write, renaming or change of times or permissions would alter: POSIX (2.9.7,
    4.9) has each of them mark the status-change time. And every byte of every file."""
    return {
        str(path): (path.stat().st_ctime_ns, path.stat().st_mtime_ns, path.stat().st_size,
                    path.stat().st_nlink,
                    hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else "")
        for path in (folder, *folder.rglob("*"))
    }  # fmt: skip


def test_nothing_is_written_below_what_is_looked_at(drive: Path, tmp_path: Path) -> None:
    folder = tmp_path / "mounted"
    folder.mkdir()
    for number in ("0", "1"):
        (folder / number).mkdir()
        for path in (drive / number).iterdir():
            (folder / number / path.name).write_bytes(path.read_bytes())
    (folder / "cut.mp4").write_bytes(next((drive / "0").iterdir()).read_bytes()[:3000])
    (folder / "empty.ts").touch()
    for path in (folder, *folder.rglob("*")):
        path.chmod(0o555 if path.is_dir() else 0o444)
    before = trail(folder)
    for _ in range(2):
        with started(tmp_path / "home", folder, "--pictures", tmp_path / "pictures") as job:
            _, err = job.communicate(timeout=60)
        assert job.returncode == ExitCode.FINDINGS, err
    log = tmp_path / "log.csv"
    log.write_text("on,off\n2026-03-01T08:00:00Z,2026-03-01T08:00:04Z\n")
    assert call(["coverage", str(folder), "--ignition", str(log)]) == ExitCode.FINDINGS
    whole = min((folder / "0").iterdir())
    clip = ["cut", str(whole), str(tmp_path / "clip.mp4"), "--from", "0", "--to", "2"]
    assert call(clip) == ExitCode.OK
    assert trail(folder) == before
    for path in (folder, *folder.rglob("*")):
        path.chmod(0o755)
