"""Sticks that the system has mounted, on real file systems: what is done, refused, left alone."""

from __future__ import annotations

import errno
import os
import subprocess
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from tests.fake_drive import FakeStick
from tests.jobs.test_stick_prepare import ABC, ASK, Noon

from asfound.errors import AsfoundError, NotFound, StorageError, UsageError
from asfound.jobs.stick_check import check_stick
from asfound.jobs.stick_look import check_place
from asfound.jobs.stick_prepare import PrepareStick, StickTools, prepare_stick
from asfound.model.menu_map import FirmwarePlace
from asfound.model.stick import Entry, StickPrepared, StickVerdict
from asfound.ports.backends.stick_disk import DiskStick
from asfound.ports.backends.stick_image import FileImage
from asfound.ports.backends.stick_mounts import Mount, is_system, mounted_at, mounts
from asfound.ports.drive_space import Past
from asfound.units import MIB

TOP = replace(ASK, place=FirmwarePlace("", "*.img"))


@pytest.fixture
def stick(tmp_path: Path) -> Iterator[Path]:
    """A mounted file system of 8 MiB, where the machine lets us make one."""
    place = tmp_path / "a stick"
    place.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=8m", "tmpfs", str(place)]
    if os.geteuid() or subprocess.run(mount, capture_output=True, check=False).returncode:
        pytest.skip("no file system can be mounted here")
    yield place
    subprocess.run(["umount", "-l", str(place)], check=True)


@pytest.fixture
def listed(tmp_path: Path) -> DiskStick:
    """A folder that a table of ours says is a FAT stick, and no system disk."""
    place = tmp_path / "listed"
    place.mkdir()
    table = tmp_path / "mounts"
    table.write_text(f"/dev/pretend1 {place} vfat rw,relatime 0 0\n", "utf-8")
    return DiskStick(place, table, tmp_path, ())


def prepared(stick: DiskStick, image: Path, to: Path, ask: PrepareStick = TOP) -> StickPrepared:
    tools = StickTools(stick, FakeStick(MIB), Noon())
    return prepare_stick(ask, image=FileImage(image, to), tools=tools)


def test_a_real_file_system(stick: Path, tmp_path: Path) -> None:
    image = tmp_path / "fw.img"
    image.write_bytes(b"abc")
    (stick / "mine.txt").write_text("mine", "utf-8")
    made = prepared(DiskStick(stick), image, stick)
    assert made.verdict == StickVerdict.PREPARED and made.sha256 == ABC
    assert made.facts.kind == "tmpfs" and made.facts.total == 8 * MIB and not made.facts.system
    assert made.past in (Past.DIRECT, Past.DROPPED)
    # Outside check: coreutils.
    told = subprocess.run(["sha256sum", stick / "fw.img"], capture_output=True, check=True).stdout
    assert told.decode().split()[0] == ABC and (stick / "mine.txt").read_text("utf-8") == "mine"
    (stick / "log.txt").write_text("done", "utf-8")
    checked = check_stick(ABC, stick=DiskStick(stick))
    assert checked.verdict == StickVerdict.UNCHANGED
    assert checked.added == (Entry("log.txt", "file", 4),)
    with pytest.raises(UsageError, match="on the stick itself"):
        prepared(DiskStick(stick), stick / "fw.img", stick)


def test_a_stick_that_is_too_small(stick: Path, tmp_path: Path) -> None:
    image = tmp_path / "fw.img"
    image.write_bytes(bytes(6 * MIB))
    with pytest.raises(StorageError, match="are free"):
        prepared(DiskStick(stick), image, stick)
    assert list(stick.iterdir()) == []


def test_only_mounted_places_and_no_system_disk(tmp_path: Path) -> None:
    image = tmp_path / "fw.img"
    image.write_bytes(b"abc")
    for place, kind, says in (
        (tmp_path, UsageError, "only a folder"),
        (tmp_path / "none", NotFound, "no such folder"),
        (image, UsageError, "is no folder"),
    ):
        with pytest.raises(kind, match=says):
            prepared(DiskStick(place), image, tmp_path / "none")
    root = DiskStick(Path("/"))
    root.begin()
    with pytest.raises(UsageError, match="computer runs from"):
        check_place(root.facts(), 3)
    root.end()


def test_the_table_of_mounts(tmp_path: Path) -> None:
    # proc(5): \040 is a blank, \134 a backslash; the last of two at one place counts.
    table = tmp_path / "mounts"
    table.write_text(
        "/dev/sdz1 /media/my\\040stick vfat rw 0 0\n"
        "/dev/sdy1 /media/my\\040stick exfat ro,nosuid 0 0\n"
        "odd line\n/dev/sdx1 /media/a\\134b ext4 rw,errors=remount-ro 0 0\n",
        "utf-8",
    )
    known = mounts(table)
    assert mounted_at(Path("/media/my stick"), known) == Mount(
        "/dev/sdy1", Path("/media/my stick"), "exfat", True
    )
    found = mounted_at(Path("/media/a\\b"), known)
    assert found is not None and not found.read_only
    assert mounted_at(Path("/media"), known) is None


def test_another_partition_of_the_system_disk(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    disk = tmp_path / "devices" / "sda"
    blocks = tmp_path / "block"
    blocks.mkdir()
    for number in (1, 2):
        (disk / f"sda{number}").mkdir(parents=True)
        (disk / f"sda{number}" / "partition").write_text(f"{number}\n", "utf-8")
        (blocks / f"8:{number}").symlink_to(disk / f"sda{number}")
    (tmp_path / "devices" / "sdb").mkdir()
    (blocks / "8:16").symlink_to(tmp_path / "devices" / "sdb")
    places = {name: tmp_path / name for name in ("root", "data", "stick")}
    for place in places.values():
        place.mkdir()
    real = Path.stat
    devices = {places["root"]: (8, 1), places["data"]: (8, 2), places["stick"]: (8, 16)}

    def stat(path: Path, *, follow_symlinks: bool = True) -> os.stat_result:
        found = real(path, follow_symlinks=follow_symlinks)
        if path in devices:
            return os.stat_result((*found[:2], os.makedev(*devices[path]), *found[3:]))
        return found

    monkeypatch.setattr(Path, "stat", stat)
    system = (places["root"],)
    assert is_system(places["root"], blocks, system)
    assert is_system(places["data"], blocks, system)
    assert not is_system(places["stick"], blocks, system)


def test_two_runs_at_once(listed: DiskStick, tmp_path: Path) -> None:
    listed.begin()
    with pytest.raises(StorageError, match="another run"):
        DiskStick(tmp_path / "listed", tmp_path / "mounts", tmp_path, ()).begin()
    listed.end()


@pytest.mark.parametrize(
    ("code", "says"),
    [
        (errno.ENODEV, "has gone"),
        (errno.EIO, "does not answer"),
        (errno.ENOSPC, "is full"),
        (errno.EROFS, "read-only"),
        (errno.EPERM, "mount the stick writable"),
    ],
)
@pytest.mark.parametrize("call", ["write", "fsync", "rename", "unlink", "mkdir", "preadv"])
def test_what_the_system_refuses(
    call: str, code: int, says: str, tmp_path: Path, listed: DiskStick,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    image, to = tmp_path / "fw.img", tmp_path / "listed"
    image.write_bytes(b"abc")
    (to / "old.img").write_bytes(b"old")
    ask = replace(TOP, remove=("old.img",))
    with monkeypatch.context() as patch:
        patch.setattr(os, call, _refusing(code))
        with pytest.raises(StorageError, match=says) as told:
            prepared(listed, image, to, ask)
        assert "\n" not in str(told.value)
    assert not (to / "fw.img").exists() and not (to / "asfound-stick" / "slip.json").exists()
    again = DiskStick(to, tmp_path / "mounts", tmp_path, ())
    assert prepared(again, image, to, ask).verdict == StickVerdict.PREPARED
    assert (to / "fw.img").read_bytes() == b"abc" and not (to / "old.img").exists()


def _refusing(code: int) -> object:
    def refuse(*_: object, **__: object) -> None:
        raise OSError(code, os.strerror(code))

    return refuse


def test_links_are_not_followed(listed: DiskStick, tmp_path: Path) -> None:
    image, to, precious = tmp_path / "fw.img", tmp_path / "listed", tmp_path / "precious"
    image.write_bytes(b"abc")
    precious.write_bytes(b"mine")
    (to / "old.img").symlink_to(precious)
    (to / "loop").symlink_to(to)
    os.mkfifo(to / "pipe")
    blocked = prepared(listed, image, to)
    assert blocked.verdict == StickVerdict.BLOCKED
    assert {(one.path, one.kind) for one in blocked.others} == {
        ("old.img", "link"), ("loop", "link"), ("pipe", "other"),
    }  # fmt: skip
    made = prepared(listed, image, to, replace(TOP, remove=("old.img",)))
    assert made.removed == ("old.img",) and precious.read_bytes() == b"mine"
    (tmp_path / "elsewhere").mkdir()
    (to / "LOAD").symlink_to(tmp_path / "elsewhere")
    ask = replace(TOP, place=FirmwarePlace("LOAD", "*.img"))
    assert prepared(listed, image, to, ask).verdict == StickVerdict.BLOCKED
    assert list((tmp_path / "elsewhere").iterdir()) == []


def test_images_that_are_none(tmp_path: Path, listed: DiskStick) -> None:
    os.mkfifo(tmp_path / "pipe.img")
    (tmp_path / "empty.img").touch()
    for name, kind in (
        ("none.img", NotFound), ("pipe.img", UsageError), ("empty.img", UsageError),
    ):  # fmt: skip
        with pytest.raises(kind) as told:
            prepared(listed, tmp_path / name, tmp_path / "listed")
        assert isinstance(told.value, AsfoundError) and "\n" not in str(told.value)
