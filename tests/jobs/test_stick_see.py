"""A stick looked at without reading an image."""

from __future__ import annotations

from tests.fake_stick import MemoryStick
from tests.jobs.test_stick_prepare import OLD, PATH, PLACE, SLIP, prepare

from asfound.jobs.stick_see import see_stick
from asfound.model.menu_map import FirmwarePlace
from asfound.model.stick import Entry

PLACES = (("Four", PLACE), ("Octad", FirmwarePlace("", "octad*.qfi")))


def test_a_stick_that_nobody_prepared() -> None:
    things = {"a.txt": b"a", "octad-1.qfi": b"x", "octad-2.qfi": b"yz"}
    seen = see_stick(PLACES, stick=MemoryStick(dict(things)))
    four, octad = seen.recorders
    assert four.images == ()
    assert [one.path for one in octad.images] == ["octad-1.qfi", "octad-2.qfi"]
    assert seen.others == (Entry("a.txt", "file", 1),)
    assert (seen.slip, seen.slip_fault, seen.interrupted) == (None, "", False)


def test_a_prepared_one_writes_nothing_and_names_what_else_is_there() -> None:
    stick = MemoryStick({"holiday.jpg": b"beach"})
    prepare(stick)
    before, changes = dict(stick.things), stick.changes
    seen = see_stick(PLACES, stick=stick)
    assert (stick.things, stick.changes) == (before, changes)
    assert [one.path for one in seen.recorders[0].images] == [PATH]
    assert seen.slip is not None and seen.slip.by == "Rosa Lint"
    assert seen.others == (Entry("holiday.jpg", "file", 5),)
    stick.things |= {OLD: b"old", SLIP: b"{", "asfound-stick/image.part": b""}
    seen = see_stick(PLACES, stick=stick)
    assert seen.slip is None and "prepare the stick again" in seen.slip_fault and seen.interrupted
    assert len(seen.recorders[0].images) == 2
