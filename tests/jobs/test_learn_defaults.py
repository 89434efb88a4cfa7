"""Factory values learned from a reading taken after a reset."""

from __future__ import annotations

from dataclasses import replace

import pytest

from asfound.calc.draft_map import UNKNOWN
from asfound.errors import UsageError
from asfound.jobs.learn_defaults import LearnDefaults, Learned, learn_defaults
from asfound.model.draft import Draft, DraftPage
from asfound.model.kinds import Choice, ReadOnly, Switch, Text, Time
from asfound.model.menu_map import Field, Keys
from asfound.model.reading import FieldReading, Reading, State

KEYS = Keys("flat", "U", "D", "L", "R", "OK", "B", "-", "+", "N", "P")
ZONE = Field("general.zone", "Zone", Choice(("UTC", "UTC+1")))
CLOCK = Field("general.time", "Time", Time(), volatile=True)
SERIAL = Field("general.serial", "Serial", ReadOnly("serial"))
NAME = Field("camera-{n}.name", "Name", Text(9))
SOUND = Field("camera-{n}.sound", "Sound", Switch())


def draft(zone: Field = ZONE, firmware: tuple[str, ...] = ("1.0", "1.1")) -> Draft:
    pages = (
        DraftPage("general", "General", (zone, CLOCK, SERIAL)),
        DraftPage("camera-{n}", "Camera {n}", (NAME, SOUND), for_each_camera=True),
    )
    return Draft("two", "Tallowby", "Two", 2, firmware, KEYS, pages)


def learn(values: dict[str, str], of: Draft | None = None, overwrite: bool = False) -> Learned:
    ids = ("general.zone", "general.time", "general.serial", "camera-1.name", "camera-2.name",
           "camera-1.sound", "camera-2.sound")  # fmt: skip
    fields = tuple(
        FieldReading(
            name, name, "", values.get(name), State.SURE if name in values else State.DOUBT
        )
        for name in ids
    )
    reading = Reading("two", "1.1", (), fields, ())
    return learn_defaults(LearnDefaults(of or draft(), reading, "1.1", overwrite))


def zone_of(learned: Learned) -> Field:
    return learned.draft.pages[0].fields[0]


def test_sure_values_become_this_firmwares_defaults() -> None:
    learned = learn({"general.zone": "UTC+1", "general.time": "10:00", "general.serial": "X"})
    assert learned.learned == (("general.zone", "UTC+1"),)
    assert zone_of(learned).defaults == (("1.1", "UTC+1"),)
    assert zone_of(learned).default is None
    assert learned.unsure == ("camera-{n}.name", "camera-{n}.sound")
    assert learned.draft.pages[0].fields[1:] == (CLOCK, SERIAL)


def test_with_one_firmware_it_is_simply_the_default() -> None:
    learned = learn({"general.zone": "UTC"}, draft(firmware=("1.1",)))
    assert (zone_of(learned).default, zone_of(learned).defaults) == ("UTC", ())


def test_a_drafts_unknown_firmware_gets_its_name() -> None:
    learned = learn({"general.zone": "UTC"}, draft(firmware=(UNKNOWN,)))
    assert learned.draft.firmware == ("1.1",)
    assert zone_of(learned).default == "UTC"


def test_another_default_is_told_and_left() -> None:
    known = draft(replace(ZONE, default="UTC"))
    learned = learn({"general.zone": "UTC+1"}, known)
    assert learned.differ == (("general.zone", "UTC", "UTC+1"),)
    assert zone_of(learned) == known.pages[0].fields[0]
    replaced = learn({"general.zone": "UTC+1"}, known, overwrite=True)
    assert replaced.differ == (("general.zone", "UTC", "UTC+1"),)
    assert zone_of(replaced).default == "UTC"
    assert zone_of(replaced).defaults == (("1.1", "UTC+1"),)


def test_the_same_default_changes_nothing() -> None:
    learned = learn({"general.zone": "UTC"}, draft(replace(ZONE, default="UTC")))
    assert learned.same == ("general.zone",)
    assert not learned.learned


def test_cameras_agree_or_count_or_are_left() -> None:
    names = {"camera-1.name": "CAM 1", "camera-2.name": "CAM 2"}
    learned = learn({**names, "camera-1.sound": "off"})
    assert dict(learned.learned) == {"camera-{n}.name": "CAM {n}", "camera-{n}.sound": "off"}
    uneven = learn({"camera-1.name": "Front", "camera-2.name": "Rear"})
    assert uneven.uneven == ("camera-{n}.name",)


def test_firmware_that_the_map_does_not_describe() -> None:
    with pytest.raises(UsageError, match=r"1\.1.*add it"):
        learn({}, draft(firmware=("3.0", "4.0")))
