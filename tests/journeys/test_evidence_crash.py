"""A copy for evidence that is killed, refused or cut off at each single change of a file."""

from __future__ import annotations

import errno
import hashlib
import os
import subprocess
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from tests.evidence_kit import KEY, Minutes, copy_with, verify
from tests.fault_layer import Layer, all_killed, quick_folder

from asfound.errors import AsfoundError, StorageError, UsageError
from asfound.ports.backends import bag_disk
from asfound.ports.backends.bag_disk import MARK
from asfound.ports.backends.disk import storage_error

NAMES = ("ch1-10.mp4", "ch2/10.mp4")
LONG_AGO = 1_000_000_000_000_000_000


def originals(folder: Path) -> dict[str, tuple[str, int, int]]:
    """Hash, time of change and of access [ns] of every file below."""
    found = {}
    for path in sorted(folder.rglob("*.mp4")):
        facts = path.stat()
        digest = hashlib.sha256(path.read_bytes()).hexdigest()
        os.utime(path, ns=(facts.st_atime_ns, facts.st_mtime_ns))
        found[path.name + path.parent.name] = (digest, facts.st_mtime_ns, facts.st_atime_ns)
    return found


def made_drive(folder: Path) -> Path:
    drive = folder / "drive"
    for name in NAMES:
        path = drive / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(name.encode() * 100)
        os.utime(path, ns=(LONG_AGO, LONG_AGO))
    return drive


class Listed(Minutes):
    """The files of one folder, of a minute each."""

    def find(self, path: Path) -> list[Path]:
        return [path / name for name in NAMES]


def act(place: Path) -> None:
    """One copy of the drive beside ``place`` into it."""
    span = [datetime(2026, 11, 20, 8, minute, tzinfo=UTC) for minute in (10, 11)]
    copy_with(
        Listed(), (place.parent / "drive",), place / "bag",
        everything=False, start=span[0], end=span[1], offset_s=0.0,
    )  # fmt: skip


def believed(place: Path) -> bool:
    """Whether there is a bag by its name; then it is whole and signed."""
    bag = place / "bag"
    if bag.exists():
        result = verify(bag, KEY.public)
        assert not result.faults and result.known_key and result.files == len(NAMES), place
        return True
    return False


def goes_on(place: Path) -> None:
    """What is there is whole, and the next run says that it is there; or it makes it."""
    if believed(place):
        with pytest.raises(UsageError, match="is there already and is left alone"):
            act(place)
    else:
        act(place)
        assert [one.name for one in place.iterdir()] == ["bag"] and believed(place)


@pytest.fixture
def quick() -> Iterator[Path]:
    with quick_folder() as folder:
        yield folder


def test_killed_at_every_change_nothing_is_half_believed(quick: Path) -> None:
    drive = made_drive(quick)
    before = originals(drive)
    places = all_killed("tests.journeys.test_evidence_crash", quick)
    # begin, two files, seven tag files, folders, name: there are that many and more.
    assert len(places) > 50
    whole = [place for place in places if (place / "bag").exists()]
    assert 0 < len(whole) < 12, "the bag has its name only at the very end"
    assert originals(drive) == before
    for place in places:
        goes_on(place)
    assert originals(drive) == before


def steps(quick: Path, monkeypatch: pytest.MonkeyPatch) -> int:
    """How many changes a whole copy makes."""
    layer = Layer(0, "once")
    (quick / "count").mkdir()
    with monkeypatch.context() as patched:
        layer.install(patched.setattr)
        act(quick / "count")
    return layer.count


@pytest.mark.parametrize(
    ("how", "code"),
    [("full", errno.ENOSPC), ("once", errno.EIO), ("once", errno.ENOSPC), ("gone", errno.ENODEV)],
)
def test_refused_at_every_change(
    quick: Path, monkeypatch: pytest.MonkeyPatch, how: str, code: int
) -> None:
    drive = made_drive(quick)
    before = originals(drive)
    refused = 0
    for at in range(1, steps(quick, monkeypatch) + 1):
        place = quick / str(at)
        place.mkdir()
        with monkeypatch.context() as patched:
            Layer(at, how, code).install(patched.setattr)
            try:
                act(place)
            except AsfoundError as error:
                refused += 1
                assert "\n" not in str(error)
                if how == "full" and not (place / "bag").exists():
                    assert "the disk is full" in str(error)
                    assert list(place.iterdir()) == [], "room is given back"
        goes_on(place)
    assert refused > 30 and originals(drive) == before


@pytest.mark.parametrize("code", [errno.EIO, errno.ENOENT, errno.ENODEV])
def test_the_drive_is_pulled_at_every_read(
    quick: Path, monkeypatch: pytest.MonkeyPatch, code: int
) -> None:
    drive = made_drive(quick)
    before = originals(drive)
    monkeypatch.setattr("asfound.ports.backends.bag_copying.PIECE", 400)
    for at in range(1, 13):
        place = quick / str(at)
        place.mkdir()
        with monkeypatch.context() as patched:
            pulled = Pulled(at, code)
            patched.setattr(bag_disk, "_original", pulled.opened(bag_disk._original))
            patched.setattr(os, "readv", pulled.read(os.readv))
            if pulled.at > 10:
                act(place)
                assert pulled.count == 10, "an opening and four reads of each"
                continue
            with pytest.raises(AsfoundError, match=str(drive)) as caught:
                act(place)
            assert "\n" not in str(caught.value)
        assert list(place.iterdir()) == []
        goes_on(place)
    assert originals(drive) == before


class Pulled:
    """Originals whose opening or reading number ``at``, and all after it, fails."""

    def __init__(self, at: int, code: int) -> None:
        self.at, self.code, self.count = at, code, 0
        self.handles: set[int] = set()

    def _step(self) -> None:
        self.count += 1
        if self.count >= self.at:
            raise OSError(self.code, os.strerror(self.code))

    def opened(self, real: Any) -> Any:
        def call(source: Path) -> int:
            try:
                self._step()
            except OSError as error:
                raise storage_error(error, source) from None
            handle: int = real(source)
            self.handles = {handle}
            return handle

        return call

    def read(self, real: Any) -> Any:
        def call(handle: int, pieces: list[bytearray]) -> int:
            if handle in self.handles:
                self._step()
            count: int = real(handle, pieces)
            return count

        return call


def test_a_copy_that_cannot_be_read_again_makes_no_bag(
    quick: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made_drive(quick)
    (quick / "x").mkdir()
    with monkeypatch.context() as patched:
        patched.setattr("asfound.ports.backends.bag_copying.read_again", refuse)
        with pytest.raises(StorageError, match="input/output error"):
            act(quick / "x")
    assert list((quick / "x").iterdir()) == []


def refuse(target: Path, stop: object) -> str:
    raise storage_error(OSError(errno.EIO, ""), target)


def test_the_mark_goes_last_when_a_killed_copy_is_cleared(
    quick: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made_drive(quick)
    place = quick / "x"
    (place / "bag.unfinished" / "bag" / "data").mkdir(parents=True)
    (place / "bag.unfinished" / MARK).write_bytes(b"")
    (place / "bag.unfinished" / "mine").write_bytes(b"mine")
    # Something of somebody else's in it: that stays, whatever else is cleared.
    with pytest.raises(StorageError, match=r"bag\.unfinished"):
        act(place)
    assert (place / "bag.unfinished" / "mine").read_bytes() == b"mine"
    assert not (place / "bag").exists()


def test_a_disk_that_is_really_full(tmp_path: Path) -> None:
    small = tmp_path / "small"
    small.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(small)]
    if os.geteuid() or subprocess.run(mount, capture_output=True, check=False).returncode:
        pytest.skip("no file system can be mounted here")
    try:
        drive = made_drive(tmp_path)
        (drive / NAMES[1]).write_bytes(b"x" * 100_000)
        with pytest.raises(StorageError, match="the disk is full"):
            act(small)
        assert list(small.iterdir()) == []
        (drive / NAMES[1]).write_bytes(b"x")
        act(small)
        assert believed(small)
    finally:
        subprocess.run(["umount", "-l", str(small)], check=True)
