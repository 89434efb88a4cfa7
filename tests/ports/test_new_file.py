"""New files: whole or not at all, never over another one, also where hard links do not exist."""

from __future__ import annotations

import errno
import hashlib
import os
from pathlib import Path

import pytest

from asfound.errors import NotFound, StorageError, UsageError
from asfound.ports.backends.new_file import check_new, hash_file, part_of, publish


def no_links(self: Path, target: Path) -> None:
    """As link(2) answers on FAT and exFAT (POSIX: EPERM)."""
    raise OSError(errno.EPERM, os.strerror(errno.EPERM))


@pytest.mark.parametrize("links", [True, False])
def test_a_finished_part_gets_its_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, links: bool
) -> None:
    if not links:
        monkeypatch.setattr(Path, "hardlink_to", no_links)
    out = tmp_path / "clip.mp4"
    with part_of(out) as part:
        part.write_bytes(b"footage")
        assert hash_file(part) == (hashlib.sha256(b"footage").hexdigest(), 7)
        publish(part, out)
    assert out.read_bytes() == b"footage"
    assert [item.name for item in tmp_path.iterdir()] == ["clip.mp4"]


@pytest.mark.parametrize("links", [True, False])
def test_a_name_taken_meanwhile_is_left_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, links: bool
) -> None:
    if not links:
        monkeypatch.setattr(Path, "hardlink_to", no_links)
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


def test_what_cannot_be_made(tmp_path: Path) -> None:
    with pytest.raises(NotFound, match="no such folder"):
        check_new(tmp_path / "no" / "clip.mp4")
    with pytest.raises(StorageError, match="no such folder"), part_of(tmp_path / "no" / "c.mp4"):
        pass
