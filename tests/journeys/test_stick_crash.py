"""A stick that is killed, pulled or full at each single change, by the system's own calls."""

from __future__ import annotations

import errno
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

import pytest
from tests.fake_drive import FakeStick
from tests.fault_layer import Layer, all_killed, quick_folder
from tests.jobs.test_stick_prepare import ASK, Noon

from asfound.errors import AsfoundError, StorageError
from asfound.jobs.stick_check import check_stick
from asfound.jobs.stick_prepare import StickTools, prepare_stick
from asfound.model.menu_map import FirmwarePlace
from asfound.model.stick import StickPrepared, StickVerdict
from asfound.ports.backends.stick_disk import DiskStick
from asfound.ports.backends.stick_image import FileImage
from asfound.units import MIB

IMAGE = b"firmware" * 1000
OTHERS = {"holiday.jpg": b"beach", "SERVICE/notes.txt": b"mine", "SERVICE/LOAD/m4-201.mfw": b"old"}
OLD = "SERVICE/LOAD/m4-201.mfw"
NEW = "SERVICE/LOAD/m4-203.mfw"
REQUEST = replace(ASK, place=FirmwarePlace("SERVICE/LOAD", "m4-*.mfw"), remove=(OLD,))


def made_stick(place: Path) -> DiskStick:
    """The folder ``stick`` in ``place``, said by a table of ours to be a FAT stick; an old image
    and things of somebody else's are on it."""
    top = place / "stick"
    if not top.exists():
        for name, data in OTHERS.items():
            (top / name).parent.mkdir(parents=True, exist_ok=True)
            (top / name).write_bytes(data)
        (place / "mounts").write_text(f"/dev/pretend1 {top} vfat rw,relatime 0 0\n", "utf-8")
        (place / "m4-203.mfw").write_bytes(IMAGE)
    return DiskStick(top, place / "mounts", place, ())


def prepare(place: Path, stick: DiskStick) -> StickPrepared:
    tools = StickTools(stick, FakeStick(MIB), Noon())
    image = FileImage(place / "m4-203.mfw", place / "stick")
    return prepare_stick(REQUEST, image=image, tools=tools)


def act(place: Path) -> None:
    """The stick in ``place`` gets the image; laid out with the calls of before the fault layer."""
    prepare(place, DiskStick(place / "stick", place / "mounts", place, ()))


def is_true(place: Path, tidied: bool = False) -> StickVerdict:
    """What a check says of the stick, which is then so; others' things are as they were.
    ``tidied``: the program lived on and took back what was not finished."""
    top = place / "stick"
    for name, data in OTHERS.items():
        if name != OLD:
            assert (top / name).read_bytes() == data, place
    if (top / NEW).exists():
        assert (top / NEW).read_bytes() == IMAGE, place
    elif not tidied:
        # The old one goes only once the new one is whole on the stick, under whatever name.
        parts = (top / OLD, top / "asfound-stick" / "image.part")
        found = [one.read_bytes() for one in parts if one.exists()]
        assert b"old" in found or IMAGE in found, place
    verdict = check_stick("", stick=made_stick(place)).verdict
    if verdict == StickVerdict.UNCHANGED:
        assert (top / NEW).read_bytes() == IMAGE and not (top / OLD).exists(), place
    return verdict


def goes_on(place: Path, tidied: bool = False) -> None:
    """The same command again ends well, whatever the first left."""
    is_true(place, tidied)
    assert prepare(place, made_stick(place)).verdict == StickVerdict.PREPARED, place
    assert is_true(place) == StickVerdict.UNCHANGED
    names = {str(one.relative_to(place / "stick")) for one in (place / "stick").rglob("*.*")}
    assert names == {*OTHERS, NEW, "asfound-stick/slip.json"} - {OLD}


@pytest.fixture
def quick() -> Iterator[Path]:
    with quick_folder() as folder:
        yield folder


def test_killed_at_every_change(quick: Path) -> None:
    places = all_killed("tests.journeys.test_stick_crash", quick, "made_stick")
    assert len(places) > 15
    assert is_true(places[0]) == StickVerdict.COULD_NOT_TELL
    for place in places:
        goes_on(place)


@pytest.mark.parametrize(
    ("how", "code", "says"),
    [
        ("full", errno.ENOSPC, "the stick is full"),
        ("gone", errno.ENODEV, "the stick has gone"),
        ("once", errno.EIO, "does not answer"),
        ("once", errno.EROFS, "is read-only"),
    ],
)
def test_refused_at_every_change(
    quick: Path, monkeypatch: pytest.MonkeyPatch, how: str, code: int, says: str
) -> None:
    told, at = [], 0
    while True:
        at += 1
        place = quick / str(at)
        place.mkdir()
        made_stick(place)
        layer = Layer(at, how, code)
        with monkeypatch.context() as patched, suppress(AsfoundError):
            layer.install(patched.setattr)
            try:
                act(place)
            except AsfoundError as error:
                told.append(str(error))
                raise
        goes_on(place, how != "gone")
        if layer.count < at:
            break
    assert len(told) >= 8 and all("\n" not in one for one in told)
    assert sum(says in one for one in told) >= len(told) - 2


def test_a_stick_that_is_pulled_is_not_prepared(
    quick: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever is changed last: a stick that went before the end is never said to be right."""
    made_stick(quick)
    counted = Layer(0, "once")
    with monkeypatch.context() as patched:
        counted.install(patched.setattr)
        act(quick)
    other = quick / "other"
    other.mkdir()
    made_stick(other)
    with monkeypatch.context() as patched:
        Layer(counted.count, "gone", errno.ENODEV).install(patched.setattr)
        with pytest.raises(StorageError, match="run the same command"):
            act(other)
    goes_on(other)
