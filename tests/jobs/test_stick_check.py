"""A stick after the visit: what is told of it, and slips that somebody made up."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.fake_stick import MemoryStick
from tests.jobs.test_stick_prepare import ABC, IMAGE, OLD, PATH, SLIP, prepare

from asfound.errors import InputError, UsageError
from asfound.jobs.stick_check import check_stick
from asfound.jobs.stick_slip import FIRST, FORMAT, read_slip, slip_bytes
from asfound.model.stick import Entry, Slip, StickFault, StickVerdict
from asfound.ports.drive_space import Past


def prepared() -> MemoryStick:
    stick = MemoryStick({"holiday.jpg": b"beach"})
    prepare(stick)
    return replace(stick, changes=0)


def kinds(stick: MemoryStick, sha256: str = "") -> list[StickFault]:
    found = check_stick(sha256, stick=stick)
    assert stick.changes == 0, "a check writes nothing"
    want = StickVerdict.CHANGED if found.findings else StickVerdict.UNCHANGED
    assert found.verdict == want
    return [one.kind for one in found.findings]


def test_an_unchanged_stick_and_what_the_recorder_added() -> None:
    stick = prepared()
    stick.things |= {"LOG": None, "LOG/update.txt": b"done"}
    found = check_stick("", stick=stick)
    assert found.verdict == StickVerdict.UNCHANGED and found.findings == ()
    assert found.added == (Entry("LOG", "folder"), Entry("LOG/update.txt", "file", 4))
    assert found.slip is not None and found.slip.by == "Rosa Lint" and found.past == "direct"


def test_changes_are_told() -> None:
    stick = prepared()
    stick.things[PATH] = IMAGE[:-1] + b"!"
    assert kinds(stick) == [StickFault.IMAGE_CHANGED]
    stick.things[PATH] = IMAGE + b"!"
    assert kinds(stick) == [StickFault.IMAGE_CHANGED]
    del stick.things[PATH]
    assert kinds(stick) == [StickFault.IMAGE_MISSING]
    stick = prepared()
    stick.things[OLD] = b"old"
    assert kinds(stick) == [StickFault.OTHER_IMAGE]
    stick = prepared()
    stick.things["holiday.jpg"] = b"peach"
    assert kinds(stick) == [StickFault.ALTERED], "same size, other content"
    stick.things["holiday.jpg"] = b"sea"
    assert kinds(stick) == [StickFault.RESIZED]
    del stick.things["holiday.jpg"]
    assert kinds(stick) == [StickFault.GONE]
    stick = prepared()
    stick.things["asfound-stick/image.part"] = b""
    assert kinds(stick) == [StickFault.INTERRUPTED]
    assert kinds(replace(prepared(), past=Past.UNSURE)) == [StickFault.READ_BACK_UNSURE]
    assert kinds(prepared(), ABC) == [StickFault.SLIP_DISAGREES]
    with pytest.raises(UsageError):
        check_stick("abc", stick=prepared())


def test_without_a_slip_nothing_can_be_told() -> None:
    stick = prepared()
    del stick.things[SLIP]
    found = check_stick("", stick=stick)
    assert found.verdict == StickVerdict.COULD_NOT_TELL
    assert [one.kind for one in found.findings] == [StickFault.NO_SLIP]


def test_too_much_to_list_is_said() -> None:
    stick = prepared()
    slip = json.loads(stick.things[SLIP] or b"")
    stick.things[SLIP] = json.dumps({**slip, "others": None}).encode()
    assert kinds(stick) == [StickFault.NOT_LISTED]


def test_a_slip_that_leads_elsewhere_reads_nothing_there() -> None:
    stick = prepared()
    slip = json.loads(stick.things[SLIP] or b"")
    stick.things[SLIP] = json.dumps({**slip, "image": "../../etc/passwd"}).encode()
    found = check_stick("", stick=stick)
    assert StickFault.IMAGE_MISSING in [one.kind for one in found.findings]


GOOD = {
    "format": FORMAT, "image": "a", "sha256": ABC, "size": 3, "when": "", "by": "", "recorder": "",
    "folder": "", "pattern": "*", "others": [["a", "file", 1]],
}  # fmt: skip


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\xff\xfe",
        b"[" * 100_000,
        b"[1]",
        b"{}",
        json.dumps({**GOOD, "format": "asfound-stick-slip/3"}).encode(),
        json.dumps({**GOOD, "sha256": "abc"}).encode(),
        json.dumps({**GOOD, "size": -1}).encode(),
        json.dumps({**GOOD, "size": True}).encode(),
        json.dumps({**GOOD, "size": 1e400}).encode(),
        json.dumps({**GOOD, "by": 7}).encode(),
        json.dumps({**GOOD, "others": 7}).encode(),
        json.dumps({**GOOD, "others": [7]}).encode(),
        json.dumps({**GOOD, "others": [["a", ["b"], 1]]}).encode(),
        json.dumps({**GOOD, "others": [["a", "file", "1"]]}).encode(),
        json.dumps({**GOOD, "others": [["a", "file", 1, "abc"]]}).encode(),
    ],
)
def test_damaged_slips_are_one_line(data: bytes) -> None:
    stick = prepared()
    stick.things[SLIP] = data
    with pytest.raises(InputError, match="prepare the stick again") as told:
        check_stick("", stick=stick)
    assert "\n" not in str(told.value)


JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner),
)


@given(st.sampled_from(sorted(GOOD)), JSON)
def test_any_value_anywhere_is_read_or_refused(name: str, value: object) -> None:
    try:
        slip = read_slip(json.dumps({**GOOD, name: value}).encode())
    except InputError:
        return
    assert isinstance(slip, Slip) and len(slip.sha256) == 64


TEXT = st.text(st.characters(), max_size=20)


@given(TEXT, TEXT, st.none() | st.lists(st.tuples(TEXT, st.integers(0)), max_size=4))
def test_slips_come_back(path: str, by: str, others: list[tuple[str, int]] | None) -> None:
    entries = None if others is None else tuple(Entry(one, "file", size) for one, size in others)
    slip = Slip(path, ABC, 3, "2026-11-26", by, "x", "", "*", entries)
    assert read_slip(slip_bytes(slip)) == slip


def test_a_slip_of_the_first_format_is_read_without_contents() -> None:
    stick = prepared()
    slip = json.loads(stick.things[SLIP] or b"")
    first = {**slip, "format": FIRST, "others": [one[:3] for one in slip["others"]]}
    stick.things[SLIP] = json.dumps(first).encode()
    stick.things["holiday.jpg"] = b"peach"
    assert kinds(stick) == [], "it never knew what was in it"
    stick.things["holiday.jpg"] = b"sea"
    assert kinds(stick) == [StickFault.RESIZED]
