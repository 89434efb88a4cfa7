"""A test of a drive, stopped or killed, touches nothing but its own files, and leaves none."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from hashlib import sha256
from pathlib import Path

import pytest

from asfound.cli.entry import STOPPED
from asfound.errors import ExitCode
from asfound.ports.backends.drive_space_disk import FOLDER, DiskSpace

CALL = (sys.executable, "-m", "asfound", "drive", "test")
MUCH = "2GB"
SOON = 0.2


def contents(folder: Path) -> dict[str, str]:
    """Every file below, with the hash of what is in it."""
    return {
        str(one.relative_to(folder)): sha256(one.read_bytes()).hexdigest()
        for one in sorted(folder.rglob("*"))
        if one.is_file()
    }


@pytest.fixture
def drive(tmp_path: Path) -> Path:
    """Where a drive with recordings is mounted."""
    for name in ("2026-11-25/ch1.mp4", "2026-11-25/ch2.mp4", "index.bin", "000000.asfound-test"):
        path = tmp_path / "drive" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(name.encode() * 5000)
    return tmp_path / "drive"


def stopped(drive: Path, how: signal.Signals) -> tuple[int, str]:
    """(exit code, stderr) of a test that got a signal while it wrote."""
    child = subprocess.Popen(
        [*CALL, str(drive), "--most", MUCH], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE
    )
    with child:
        until = time.monotonic() + 60
        while not list((drive / FOLDER).glob("*.asfound-test")):
            assert time.monotonic() < until and child.poll() is None, "it never wrote"
            time.sleep(0.01)
        time.sleep(SOON)
        child.send_signal(how)
        _, err = child.communicate(timeout=60)
    return child.returncode, err.decode()


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_stopped_by_hand_or_with_its_terminal(drive: Path, how: signal.Signals) -> None:
    before = contents(drive)
    code, err = stopped(drive, how)
    assert code == ExitCode.INTERRUPTED and err.endswith(f"{STOPPED}\n")
    assert contents(drive) == before and not (drive / FOLDER).exists()


def test_killed_and_cleared_by_the_next_one(drive: Path) -> None:
    before = contents(drive)
    code, _ = stopped(drive, signal.SIGKILL)
    assert code == -signal.SIGKILL
    left = contents(drive)
    assert {name: left[name] for name in before} == before
    assert set(left) - set(before) and all(
        name.startswith(FOLDER) for name in set(left) - set(before)
    )
    again = subprocess.run(
        [*CALL, str(drive), "--most", "2MB"], capture_output=True, text=True, check=False
    )
    assert again.returncode == ExitCode.FINDINGS, again.stderr
    assert "of an earlier, killed test" in again.stdout
    assert contents(drive) == before and not (drive / FOLDER).exists()


def test_two_at_once(drive: Path) -> None:
    first = DiskSpace(drive)
    first.begin()
    second = subprocess.run([*CALL, str(drive)], capture_output=True, text=True, check=False)
    first.end()
    assert second.returncode == ExitCode.STORAGE
    assert second.stderr.splitlines()[-1].endswith("another test is running there; wait for it")
