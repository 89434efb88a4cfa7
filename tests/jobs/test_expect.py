"""Expectations from settings; figures as the menus write them."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from asfound.errors import MapError
from asfound.jobs.expect import expect_from_target
from asfound.model.finding import ExpectedChannel
from asfound.model.fleet import Camera
from asfound.model.kinds import Choice, Number, Switch, Text
from asfound.model.menu_map import Field, Keys, MenuMap, Page
from asfound.model.target import Origin, Target, TargetValue

KEYS = Keys("flat", "Up", "Down", "Left", "Right", "Enter", "Out", "Less", "More")
SIZES = Choice(("Low", "High"), (("Low", "352x288"), ("High", "1280x720")))


def camera_fields(number: int) -> tuple[Field, ...]:
    return (
        Field(f"c{number}.on", "Record", Switch(), means="record", camera=number),
        Field(f"c{number}.name", "Name", Text(), means="camera-name", camera=number),
        Field(f"c{number}.size", "Size", SIZES, means="frame-size", camera=number),
        Field(
            f"c{number}.rate", "Rate", Number(Decimal(1), Decimal(25), unit="fps"),
            means="frame-rate", camera=number,
        ),
        Field(
            f"c{number}.bits", "Bits", Number(Decimal(0), Decimal(9), unit="Mbit/s"),
            means="bit-rate", camera=number,
        ),
        Field(f"c{number}.sound", "Sound", Switch(), means="audio", camera=number),
    )  # fmt: skip


COMMON = Field("all.codec", "Coding", Choice(("H.264 Main", "H.265")), means="codec")
MAP = MenuMap(
    "demo", "Nobody", "Nothing", 2, ("1.0",),
    (Page("a", "A", (*camera_fields(1), *camera_fields(2), COMMON)),), KEYS,
)  # fmt: skip
CAMERAS = (Camera(2, "LOAD"), Camera(1, "ROAD"))
VALUES = {
    "c1.on": "on", "c1.name": "FRONT", "c1.size": "High", "c1.rate": "12", "c1.bits": "1.5",
    "c1.sound": "off", "c2.on": "off", "all.codec": "H.264 Main",
}  # fmt: skip


def target(values: dict[str, str]) -> Target:
    made = tuple(TargetValue(key, value, Origin.BASELINE) for key, value in values.items())
    return Target("demo", "1.0", made)


def test_what_the_settings_promise() -> None:
    expectation = expect_from_target(MAP, target(VALUES), CAMERAS)
    # 1.5 Mbit/s is 1,500,000 bit/s: prefixes of bit rates are decimal (IEC 80000-13).
    expected = ExpectedChannel(1, "FRONT", 1280, 720, 12.0, 1_500_000.0, "H.264 Main", False)
    assert expectation.channels == (expected,)


def test_what_no_field_says_is_not_expected() -> None:
    expectation = expect_from_target(MAP, target({}), CAMERAS)
    assert expectation.channels == (ExpectedChannel(1, "ROAD"), ExpectedChannel(2, "LOAD"))


def test_a_cameras_own_field_speaks_before_one_for_all() -> None:
    own = Field("c1.codec", "Coding", Choice(("H.264 Main", "H.265")), means="codec", camera=1)
    page = Page("a", "A", (*MAP.pages[0].fields, own))
    values = VALUES | {"c1.codec": "H.265", "c2.on": "on"}
    channels = expect_from_target(replace(MAP, pages=(page,)), target(values), CAMERAS).channels
    assert [channel.codec for channel in channels] == ["H.265", "H.264 Main"]


@pytest.mark.parametrize(
    ("field", "value", "says"),
    [("c1.rate", "fast", "a number"), ("c1.bits", "0", "above 0"), ("c1.size", "Other", "a size")],
)
def test_values_without_figures_are_refused(field: str, value: str, says: str) -> None:
    with pytest.raises(MapError, match=f"field {field} means .*{says}"):
        expect_from_target(MAP, target(VALUES | {field: value}), CAMERAS)


def test_a_bit_rate_needs_a_known_unit() -> None:
    odd = Field("c1.bits", "Bits", Number(Decimal(0), Decimal(9)), means="bit-rate", camera=1)
    page = Page("a", "A", (odd,))
    with pytest.raises(MapError, match="kbit/s or Mbit/s"):
        expect_from_target(replace(MAP, pages=(page,)), target({"c1.bits": "2"}), CAMERAS)


def test_a_value_left_to_the_recorder_promises_nothing() -> None:
    [channel] = expect_from_target(MAP, target(VALUES | {"c1.bits": "Auto"}), CAMERAS).channels
    assert channel.bitrate_bps is None
