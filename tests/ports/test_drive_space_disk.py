"""A folder of ours on a real file system: what it gives back, and all that it leaves alone."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from asfound.errors import NotFound, StorageError, UsageError
from asfound.ports.backends.drive_space_disk import FOLDER, DiskSpace
from asfound.ports.backends.file_extents import file_extents
from asfound.ports.drive_space import Cleared, DriveRefused, Past, Why

DATA = bytes(range(256)) * 256


def put(space: DiskSpace, file: int = 0, offset: int = 0) -> None:
    assert space.write(file, offset, memoryview(DATA)) == len(DATA)


@pytest.fixture
def small(tmp_path: Path) -> Iterator[Path]:
    """A file system of 1 MiB, where the machine lets us make one."""
    place = tmp_path / "small"
    place.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", str(place)]
    if os.geteuid() or subprocess.run(mount, capture_output=True, check=False).returncode:
        pytest.skip("no file system can be mounted here")
    yield place
    subprocess.run(["umount", str(place)], check=True)


def test_what_is_written_is_read_and_gone(tmp_path: Path) -> None:
    (tmp_path / "footage.mp4").write_bytes(DATA)
    space = DiskSpace(tmp_path)
    assert space.begin() == Cleared()
    put(space)
    put(space, 0, len(DATA))
    put(space, 1)
    space.settle(0)
    space.settle(1)
    assert bytes(space.read(0, len(DATA), len(DATA))) == DATA
    assert bytes(space.read(1, 0, 2 * len(DATA))) == DATA, "less where the file ends"
    assert space.past in (Past.DIRECT, Past.DROPPED)
    assert len(list((tmp_path / FOLDER).iterdir())) == 3
    assert space.end().removed == 2
    assert space.end() == Cleared(), "twice is once"
    assert [one.name for one in tmp_path.iterdir()] == ["footage.mp4"]
    assert (tmp_path / "footage.mp4").read_bytes() == DATA


def test_room_of_the_file_system(tmp_path: Path) -> None:
    found = DiskSpace(tmp_path).space()
    stat = os.statvfs(tmp_path)
    assert DiskSpace(Path("/")).space().system
    assert found.system == (tmp_path.stat().st_dev == Path("/").stat().st_dev)
    assert found.total == stat.f_blocks * stat.f_frsize and 0 < found.free <= found.total


def test_room_is_kept_without_writing(tmp_path: Path) -> None:
    space = DiskSpace(tmp_path)
    space.begin()
    if not space.reserve(0, 8 << 20):
        pytest.skip("this file system keeps no room")
    put(space)
    space.settle(0)
    stat = (tmp_path / FOLDER / "000000.asfound-test").stat()
    # stat(2): st_blocks counts 512 bytes.
    assert stat.st_size == len(DATA) and stat.st_blocks * 512 >= 8 << 20
    space.end()


def test_what_an_earlier_test_left_is_cleared_and_nothing_else(tmp_path: Path) -> None:
    folder, precious = tmp_path / FOLDER, tmp_path / "precious"
    precious.write_bytes(DATA)
    folder.mkdir()
    (folder / "000000.asfound-test").write_bytes(DATA)
    (folder / "000001.asfound-test").symlink_to(precious)
    (folder / "notes.txt").write_text("mine", "utf-8")
    (folder / "0.asfound-test").write_bytes(DATA)
    space = DiskSpace(tmp_path)
    assert space.begin() == Cleared(2, (), ("0.asfound-test", "notes.txt"))
    put(space)
    space.end()
    assert precious.read_bytes() == DATA, "the link went, not what it led to"
    assert {"notes.txt", "0.asfound-test"} <= {one.name for one in folder.iterdir()}
    assert not (folder / "000000.asfound-test").exists()


def test_a_folder_with_the_name_of_a_file_stays(tmp_path: Path) -> None:
    (tmp_path / FOLDER / "000000.asfound-test").mkdir(parents=True)
    space = DiskSpace(tmp_path)
    assert space.begin().left == ("000000.asfound-test",)
    with pytest.raises(DriveRefused):
        put(space)
    assert space.end().left == ("000000.asfound-test",)


def test_two_tests_at_once(tmp_path: Path) -> None:
    first = DiskSpace(tmp_path)
    first.begin()
    put(first)
    with pytest.raises(StorageError, match="another test is running"):
        DiskSpace(tmp_path).begin()
    assert first.end().removed == 1
    again = DiskSpace(tmp_path)
    again.begin()
    again.end()


def test_something_else_has_our_name(tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "000000.asfound-test").write_bytes(DATA)
    (tmp_path / FOLDER).symlink_to(elsewhere)
    with pytest.raises(StorageError, match="something else has the name"):
        DiskSpace(tmp_path).begin()
    assert (elsewhere / "000000.asfound-test").exists()
    (tmp_path / FOLDER).unlink()
    (tmp_path / FOLDER).write_bytes(b"")
    with pytest.raises(StorageError, match="something else has the name"):
        DiskSpace(tmp_path).begin()


def test_a_link_in_place_of_a_file_of_ours_is_not_followed(tmp_path: Path) -> None:
    precious = tmp_path / "precious"
    precious.write_bytes(DATA)
    space = DiskSpace(tmp_path)
    space.begin()
    (tmp_path / FOLDER / "000000.asfound-test").symlink_to(precious)
    with pytest.raises(DriveRefused):
        space.write(0, 0, memoryview(b"gone"))
    space.end()
    assert precious.read_bytes() == DATA


def test_no_place(tmp_path: Path) -> None:
    with pytest.raises(NotFound, match="where the drive is mounted"):
        DiskSpace(tmp_path / "none")
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(UsageError, match="is no folder"):
        DiskSpace(tmp_path / "file")


def test_a_read_of_what_is_not_there(tmp_path: Path) -> None:
    space = DiskSpace(tmp_path)
    space.begin()
    with pytest.raises(DriveRefused) as caught:
        space.read(5, 0, 4096)
    assert caught.value.why is Why.FAULT
    space.end()


def test_where_files_lie(tmp_path: Path) -> None:
    space = DiskSpace(tmp_path)
    space.begin()
    for file in range(2):
        put(space, file)
        put(space, file, len(DATA))
        space.settle(file)
    told = [space.extents(file) for file in range(2)]
    assert space.extents(7) == []
    space.end()
    if not told[0]:
        pytest.skip("this file system does not tell")
    taken: set[int] = set()
    for extents in told:
        assert sum(one.length for one in extents) == 2 * len(DATA)
        assert [one.offset for one in extents] == sorted(one.offset for one in extents)
        for one in extents:
            blocks = set(range(one.place, one.place + one.length, 4096))
            assert one.place > 0 and not blocks & taken, "nothing lies on something else"
            taken |= blocks


def test_where_a_torn_file_lies(tmp_path: Path) -> None:
    # More parts than are asked for at once: every other block of a sparse file.
    path = tmp_path / "torn"
    with path.open("wb") as file:
        for number in range(600):
            file.seek(number * 8192)
            file.write(bytes(4096))
        file.flush()
        os.fsync(file.fileno())
        told = file_extents(file.fileno())
    if not told:
        pytest.skip("this file system does not tell")
    assert [one.offset for one in told] == [number * 8192 for number in range(600)]


def test_full(small: Path) -> None:
    space = DiskSpace(small)
    space.begin()
    block = memoryview(bytes(1 << 19))
    written = 0
    with pytest.raises(DriveRefused) as caught:
        while written < 4 << 20:
            written += space.write(0, written, block)
    assert caught.value.why is Why.FULL and written <= 1 << 20
    with pytest.raises(DriveRefused):
        space.reserve(1, 4 << 20)
    space.end()
    assert list(small.iterdir()) == []


def test_a_file_that_may_not_grow(tmp_path: Path) -> None:
    # setrlimit(2): a write beyond RLIMIT_FSIZE fails with EFBIG; in a process of its own.
    script = (
        "import resource, sys\nfrom pathlib import Path\n"
        "from asfound.ports.backends.drive_space_disk import DiskSpace\n"
        "from asfound.ports.drive_space import DriveRefused\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))\n"
        "space = DiskSpace(Path(sys.argv[1]))\nspace.begin()\n"
        "print(space.write(0, 0, memoryview(bytes(9000))))\n"
        "try:\n    space.write(0, 4096, memoryview(bytes(10)))\n"
        "except DriveRefused as refused:\n    print(refused.why)\nspace.end()\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, str(tmp_path)], capture_output=True, text=True, check=False
    )
    assert done.stdout.split() == ["4096", "full"], done.stderr
    assert list(tmp_path.iterdir()) == []
