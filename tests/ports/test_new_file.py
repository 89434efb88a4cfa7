"""New files: whole or not at all, never over another one, also where hard links or files without
a name do not exist; a killed program's parts."""

from __future__ import annotations

import errno
import hashlib
import os
import signal
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from asfound.errors import NotFound, StorageError, UsageError
from asfound.ports.backends.new_file import check_new, hash_file, part_of, publish

DISKS: dict[str, Mapping[str, int]] = {
    "as it is": {},
    "no nameless files": {"open": errno.EOPNOTSUPP},
    "no links": {"link": errno.EPERM},
    "neither": {"open": errno.EOPNOTSUPP, "link": errno.EPERM},
}
"""What open(2) answers to O_TMPFILE, and link(2) at all, on disks that cannot do it (POSIX and the
manual pages of Linux: FAT and exFAT)."""


def on_disk(monkeypatch: pytest.MonkeyPatch, refused: Mapping[str, int]) -> None:
    """Let these system calls be answered as such a disk does."""
    whole, nameless = os.open, getattr(os, "O_TMPFILE", 0)

    def opened(path: Any, flags: int, *rest: Any, **named: Any) -> int:
        if nameless and flags & nameless == nameless:
            raise OSError(refused["open"], os.strerror(refused["open"]))
        return whole(path, flags, *rest, **named)

    def linked(*_: Any, **__: Any) -> None:
        raise OSError(refused["link"], os.strerror(refused["link"]))

    if "open" in refused:
        monkeypatch.setattr(os, "open", opened)
    if "link" in refused:
        monkeypatch.setattr(os, "link", linked)


@pytest.mark.parametrize("disk", DISKS)
def test_a_finished_part_gets_its_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, disk: str
) -> None:
    on_disk(monkeypatch, DISKS[disk])
    out = tmp_path / "clip.mp4"
    with part_of(out) as part:
        part.write_bytes(b"footage")
        assert hash_file(part) == (hashlib.sha256(b"footage").hexdigest(), 7)
        publish(part, out)
    assert out.read_bytes() == b"footage"
    umask = os.umask(0)
    os.umask(umask)
    assert out.stat().st_mode & 0o777 == 0o666 & ~umask
    assert [item.name for item in tmp_path.iterdir()] == ["clip.mp4"]


@pytest.mark.parametrize("disk", DISKS)
def test_a_name_taken_meanwhile_is_left_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, disk: str
) -> None:
    on_disk(monkeypatch, DISKS[disk])
    out = tmp_path / "clip.mp4"
    with part_of(out) as part:
        part.write_bytes(b"footage")
        out.write_text("somebody else's")
        with pytest.raises(UsageError, match="is there already"):
            publish(part, out)
    assert out.read_text() == "somebody else's"
    assert [item.name for item in tmp_path.iterdir()] == ["clip.mp4"]


def test_work_that_fails_leaves_nothing(tmp_path: Path) -> None:
    with pytest.raises(ZeroDivisionError), part_of(tmp_path / "clip.mp4") as part:
        part.write_bytes(b"half of it")
        raise ZeroDivisionError
    assert list(tmp_path.iterdir()) == []


KILLED = (
    "import errno, os, signal, sys\nfrom pathlib import Path\n"
    "from asfound.ports.backends.new_file import part_of\n"
    "whole = os.open\n"
    "def opened(path, flags, *rest, **named):\n"
    "    if flags & os.O_TMPFILE == os.O_TMPFILE: raise OSError(errno.EOPNOTSUPP, 'no')\n"
    "    return whole(path, flags, *rest, **named)\n"
    "if sys.argv[2] == 'named': os.open = opened\n"
    "with part_of(Path(sys.argv[1])) as part:\n"
    "    part.write_bytes(b'half of it')\n"
    "    os.kill(os.getpid(), signal.SIGKILL)\n"
)


def test_a_killed_program_leaves_nothing(tmp_path: Path) -> None:
    """O_TMPFILE: the file goes with the last program that has it open (open(2))."""
    out = tmp_path / "clip.mp4"
    made = subprocess.run([sys.executable, "-c", KILLED, str(out), "nameless"], check=False)
    assert made.returncode == -signal.SIGKILL
    assert list(tmp_path.iterdir()) == []


def test_what_a_killed_program_left_is_removed_by_the_next(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "clip[1].mp4"
    subprocess.run([sys.executable, "-c", KILLED, str(out), "named"], check=False)
    [left] = tmp_path.iterdir()
    assert left.name.startswith(".clip[1].mp4-")
    other = tmp_path / ".clip1.mp4-notours1.part"
    other.write_text("somebody else's")
    on_disk(monkeypatch, DISKS["neither"])
    with part_of(out) as first:
        assert not left.exists()
        # One that is being written to is not taken for one that was left.
        with part_of(out) as second:
            assert first.exists() and second.exists()
    assert list(tmp_path.iterdir()) == [other]


def test_what_cannot_be_made(tmp_path: Path) -> None:
    with pytest.raises(NotFound, match="no such folder"):
        check_new(tmp_path / "no" / "clip.mp4")
    with pytest.raises(StorageError, match="no such folder"), part_of(tmp_path / "no" / "c.mp4"):
        pass
