"""One image on a stick: whole or not at all, wherever the program or the stick gives up.

The expected hash of "abc" is FIPS 180-4's example; FAT32's limit is that of its specification.
"""

from __future__ import annotations

import hashlib
import json
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.fake_drive import FakeStick
from tests.fake_stick import FACTS, Killed, MemoryImage, MemoryStick

from asfound.errors import AsfoundError, IntegrityError, StorageError, UsageError
from asfound.jobs.drive_test import DriveTest
from asfound.jobs.stick_check import check_stick
from asfound.jobs.stick_prepare import PrepareStick, StickTools, prepare_stick
from asfound.model.menu_map import FirmwarePlace
from asfound.model.stick import StickFault, StickPrepared, StickVerdict
from asfound.ports.drive_space import Past
from asfound.units import MIB

ABC = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
PLACE = FirmwarePlace("SERVICE/LOAD", "m4-*.mfw")
ASK = PrepareStick(PLACE, "Marrowby Four", "Rosa Lint")
PATH = "SERVICE/LOAD/m4-203.mfw"
OLD = "SERVICE/LOAD/m4-201.mfw"
SLIP = "asfound-stick/slip.json"
IMAGE = bytes(range(251)) * 10_000  # 2.5 MB: three pieces


class Noon:
    def now(self) -> datetime:
        return datetime(2026, 11, 26, 12, 0, 0, 5, UTC)

    def steady(self) -> float:
        return 0.0


def prepare(
    stick: MemoryStick, ask: PrepareStick = ASK, data: bytes = IMAGE, drive: FakeStick | None = None
) -> StickPrepared:
    tools = StickTools(stick, drive or FakeStick(MIB), Noon())
    return prepare_stick(ask, image=MemoryImage("m4-203.mfw", data), tools=tools)


def full() -> MemoryStick:
    """A stick with an old image, and things of somebody else's."""
    return MemoryStick(
        {"SERVICE": None, "SERVICE/LOAD": None, OLD: b"old", "holiday.jpg": b"beach", "x": None}
    )


def test_a_stick_is_prepared() -> None:
    stick = MemoryStick({"holiday.jpg": b"beach"})
    made = prepare(stick, replace(ASK, sha256=ABC.upper()), b"abc")
    assert made.verdict == StickVerdict.PREPARED and made.findings == ()
    assert (made.image, made.sha256, made.size, made.past) == (PATH, ABC, 3, "direct")
    assert stick.things[PATH] == b"abc" and stick.things["holiday.jpg"] == b"beach"
    slip = json.loads(stick.things[SLIP] or b"")
    assert (slip["sha256"], slip["by"]) == (ABC, "Rosa Lint")
    assert slip["when"] == "2026-11-26T12:00:00+00:00" and slip["recorder"] == "Marrowby Four"
    assert set(stick.things) == {
        "holiday.jpg", "asfound-stick", SLIP, "SERVICE", "SERVICE/LOAD", PATH,
    }  # fmt: skip


def test_a_second_run_only_reads_again() -> None:
    stick = MemoryStick()
    prepare(stick)
    before = stick.things[PATH]
    again = prepare(stick)
    stick.facts_now = replace(FACTS, free=4096)
    assert prepare(stick).kept, "what is there already needs no room"
    assert again.kept and again.verdict == StickVerdict.PREPARED and stick.things[PATH] is before


def test_a_wrong_image_is_not_written() -> None:
    stick = full()
    before = dict(stick.things)
    with pytest.raises(IntegrityError, match="nothing was written"):
        prepare(stick, replace(ASK, sha256=ABC))
    for bad in ("123", "g" * 64):
        with pytest.raises(UsageError, match="64 digits"):
            prepare(stick, replace(ASK, sha256=bad))
    assert stick.things == before and stick.changes == 0


def test_other_images_block_until_they_are_named() -> None:
    stick = full()
    blocked = prepare(stick)
    assert blocked.verdict == StickVerdict.BLOCKED and stick.changes == 0
    assert [(one.kind, one.path) for one in blocked.findings] == [(StickFault.OTHER_IMAGE, OLD)]
    made = prepare(stick, replace(ASK, remove=("m4-201.mfw",)))
    assert made.verdict == StickVerdict.PREPARED and made.removed == (OLD,)
    assert OLD not in stick.things and stick.things["holiday.jpg"] == b"beach"


@pytest.mark.parametrize("name", ["holiday.jpg", "x", "SERVICE", "SERVICE/LOAD"])
def test_nothing_but_other_images_can_be_named(name: str) -> None:
    stick = full()
    with pytest.raises(UsageError, match="nothing else is removed"):
        prepare(stick, replace(ASK, remove=("m4-201.mfw", name)))
    assert stick.changes == 0


def test_other_content_of_the_same_name_blocks() -> None:
    stick = MemoryStick({"SERVICE": None, "SERVICE/LOAD": None, PATH: b"tampered"})
    assert prepare(stick).findings[0].kind == StickFault.OTHER_IMAGE
    made = prepare(stick, replace(ASK, remove=(PATH,)))
    assert made.verdict == StickVerdict.PREPARED and stick.things[PATH] == IMAGE


@pytest.mark.parametrize(
    ("things", "where"),
    [
        ({"service": None}, "service"),
        ({"SERVICE": b"a file"}, "SERVICE"),
        ({"SERVICE": None, "SERVICE/LOAD": None, "SERVICE/LOAD/M4-203.MFW": IMAGE}, "M4-203.MFW"),
        ({"SERVICE": None, "SERVICE/LOAD": None, PATH: None}, "m4-203.mfw"),
    ],
)
def test_names_that_are_the_same_to_fat_block(things: dict[str, bytes | None], where: str) -> None:
    stick = MemoryStick(things)
    made = prepare(stick)
    assert made.verdict == StickVerdict.BLOCKED and stick.changes == 0
    assert made.findings[0].kind == StickFault.NAME_CLASH
    assert made.findings[0].path.endswith(where)


def test_links_are_other_images_and_what_they_lead_to_is_not_read() -> None:
    stick = MemoryStick({"SERVICE": None, "SERVICE/LOAD": None, PATH: IMAGE}, links=(PATH,))
    assert prepare(stick).verdict == StickVerdict.BLOCKED


@pytest.mark.parametrize(
    "things",
    [
        {"asfound-stick": b"mine"},
        {"ASFOUND-STICK": None},
        {"asfound-stick": None, "asfound-stick/image.part": None},
    ],
)
def test_something_else_in_our_place(things: dict[str, bytes | None]) -> None:
    stick = MemoryStick(things)
    with pytest.raises(StorageError, match="move it away"):
        prepare(stick)
    assert stick.changes == 0


@pytest.mark.parametrize(
    ("facts", "kind", "says"),
    [
        (replace(FACTS, system=True), UsageError, "computer runs from"),
        (replace(FACTS, read_only=True), StorageError, "reading only"),
        (replace(FACTS, kind="msdos"), StorageError, "vfat"),
        (replace(FACTS, free=2_000_000), StorageError, "are free"),
    ],
)
def test_places_where_it_cannot_go(facts: object, kind: type[AsfoundError], says: str) -> None:
    stick = MemoryStick(facts_now=facts)  # type: ignore[arg-type] # StickFacts, from the list
    with pytest.raises(kind, match=says):
        prepare(stick)
    assert stick.changes == 0


@pytest.mark.parametrize(("kind", "ok"), [("vfat", False), ("exfat", True)])
def test_the_limit_of_fat32(kind: str, ok: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    # 4 294 967 295 bytes: lengths of 32 bits (FAT32 File System Specification 1.03).
    huge = FakeStick(MIB)
    monkeypatch.setattr(
        "asfound.jobs.stick_prepare.hash_image", lambda image, progress: (ABC, 4_294_967_296)
    )
    stick = MemoryStick(facts_now=replace(FACTS, kind=kind))
    says = "are needed" if ok else "at most 4294967295"
    with pytest.raises(StorageError, match=says):
        prepare(stick, ASK, b"abc", huge)


def test_other_file_systems_are_named() -> None:
    made = prepare(MemoryStick(facts_now=replace(FACTS, kind="ext4")))
    assert made.verdict == StickVerdict.PREPARED
    assert made.findings[0].kind == StickFault.FILE_SYSTEM and "ext4" in made.findings[0].note


def test_a_stick_that_gives_back_something_else() -> None:
    stick = MemoryStick(flips=True)
    with pytest.raises(IntegrityError, match="use another stick"):
        prepare(stick)
    assert PATH not in stick.things and SLIP not in stick.things
    assert "asfound-stick/image.part" not in stick.things


def test_an_image_that_changes_while_it_is_copied() -> None:
    stick = MemoryStick()
    image = MemoryImage("m4-203.mfw", b"abc", later=b"abd")
    tools = StickTools(stick, FakeStick(MIB), Noon())
    with pytest.raises(IntegrityError, match="was changed"):
        prepare_stick(ASK, image=image, tools=tools)
    assert PATH not in stick.things and SLIP not in stick.things


def test_a_read_from_memory_is_said() -> None:
    made = prepare(MemoryStick(past=Past.UNSURE))
    assert [one.kind for one in made.findings] == [StickFault.READ_BACK_UNSURE]


def test_a_false_stick_is_found_by_the_test() -> None:
    stick = MemoryStick()
    ask = replace(ASK, test=DriveTest(7))
    made = prepare(stick, ask, drive=FakeStick(64 * MIB, 9 * MIB))
    assert made.verdict == StickVerdict.BLOCKED and stick.changes == 0
    assert made.findings[0].kind == StickFault.CAPACITY
    made = prepare(stick, ask, drive=FakeStick(200 * MIB))
    assert made.verdict == StickVerdict.PREPARED and made.findings == ()


@pytest.mark.parametrize("name", ["m4-2:03.mfw", "other.img", "../m4-1.mfw", "m4-" + "x" * 255])
def test_names_are_checked_before_anything_else(name: str) -> None:
    with pytest.raises(UsageError, match="--as"):
        prepare(MemoryStick(), replace(ASK, name=name))
    with pytest.raises(UsageError, match="slip"):
        prepare(MemoryStick(), replace(ASK, place=FirmwarePlace("asfound-STICK/x", "*")))


def clean_changes(bite: int) -> int:
    stick = replace(full(), bite=bite)
    prepare(stick, replace(ASK, remove=(OLD,)))
    return stick.changes


@pytest.mark.parametrize("bite", [1 << 30, 400_000])
@pytest.mark.parametrize("lost", [False, True])
@pytest.mark.parametrize("fault", ["before", "after", "gone", "once", "full", "ctrl-c"])
def test_nothing_is_half_believed_wherever_it_ends(fault: str, lost: bool, bite: int) -> None:
    ask = replace(ASK, remove=(OLD,))
    total = clean_changes(bite)
    assert total >= 10
    for at in range(1, total + 1):
        stick = replace(full(), at=at, fault=fault, bite=bite)
        try:
            prepare(stick, ask)
            ended = True
        except (Killed, KeyboardInterrupt, StorageError):
            ended = False
        assert not ended or fault == "full", (fault, at)
        left = stick.put_in_again(lost)
        assert left.things.get(PATH, IMAGE) == IMAGE, (fault, at)
        assert left.things["holiday.jpg"] == b"beach" and left.things["x"] is None
        if OLD not in left.things and fault in ("before", "after", "gone"):
            # The old image went only once the new one was whole on the stick.
            parts = (left.things.get(PATH), left.things.get("asfound-stick/image.part"))
            assert IMAGE in parts, (fault, at)
        if SLIP in left.things:
            assert left.things.get(PATH) == IMAGE, (fault, at)
        if fault in ("once", "full", "ctrl-c"):
            assert "asfound-stick/image.part" not in left.things, (fault, at)
        checked = check_stick("", stick=left)
        if checked.verdict == StickVerdict.UNCHANGED:
            assert left.things.get(PATH) == IMAGE and OLD not in left.things
        again = prepare(left, ask)
        assert again.verdict == StickVerdict.PREPARED, (fault, at)
        assert left.things[PATH] == IMAGE and OLD not in left.things
        assert not _has_parts(left)
        assert check_stick("", stick=left).verdict == StickVerdict.UNCHANGED


def _has_parts(stick: MemoryStick) -> bool:
    return any(path.endswith(".part") for path in stick.things)


@pytest.mark.parametrize("fault", ["before", "after", "gone"])
def test_a_prepared_stick_killed_while_it_gets_another_image(fault: str) -> None:
    """The old slip never speaks for what comes next."""
    for at in range(1, 20):
        stick = MemoryStick()
        prepare(stick)
        stick = replace(stick, changes=0, at=at, fault=fault)
        ask = replace(ASK, name="m4-204.mfw", remove=(PATH,))
        with suppress(Killed, StorageError):
            prepare(stick, ask, IMAGE + b"!")
        left = stick.put_in_again(lost=True)
        if SLIP in left.things:
            slip = json.loads(left.things[SLIP] or b"")
            there = left.things[slip["image"]] or b""
            assert hashlib.sha256(there).hexdigest() == slip["sha256"]
        assert prepare(left, ask, IMAGE + b"!").verdict == StickVerdict.PREPARED


ODD = st.text(st.characters(codec="utf-8", exclude_characters="/\0"), min_size=1, max_size=20)


@given(st.dictionaries(ODD, st.binary(max_size=5), max_size=6))
def test_whatever_else_is_on_the_stick_stays(things: dict[str, bytes]) -> None:
    stick = MemoryStick(dict(things))
    ask = replace(ASK, place=FirmwarePlace("", "m4-*.mfw"))
    try:
        made = prepare(stick, ask, b"abc")
    except StorageError:
        assert stick.changes == 0
        return
    assert {path: stick.things[path] for path in things} == things
    names = {one.path for one in made.others}
    assert names >= set(things) - {"m4-203.mfw"}
