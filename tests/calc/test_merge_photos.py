"""Several photographs of one recorder made into one reading."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.merge_photos import merge_field, merge_photos
from asfound.errors import NotFound
from asfound.model.kinds import Level, ReadOnly, Secret, Text
from asfound.model.menu_map import Field, Keys, MenuMap, Page
from asfound.model.reading import FieldReading, PhotoReading, State

KEYS = Keys("flat", "U", "D", "L", "R", "OK", "B", "-", "+", "N", "P")
LEVEL = Field("a.level", "Level", Level(0, 9))
CLOCK = Field("a.clock", "Clock", ReadOnly("clock"), volatile=True)
NEW = Field("b.new", "New", Level(0, 9), since="2")
MAP = MenuMap(
    "m", "M", "M", 0, ("1", "2"),
    (Page("a", "A", (LEVEL, CLOCK)), Page("b", "B", (NEW,))), KEYS,
)  # fmt: skip


def seen(field: Field, value: str | None, state: State, *candidates: str) -> FieldReading:
    return FieldReading(field.id, field.label, value or "", value, state, candidates)


def sure(value: str, field: Field = LEVEL) -> FieldReading:
    return seen(field, value, State.SURE, value)


def doubt(*candidates: str) -> FieldReading:
    return seen(LEVEL, candidates[0] if candidates else None, State.DOUBT, *candidates)


UNREAD = seen(LEVEL, None, State.UNREAD)


def test_what_agrees_is_sure() -> None:
    assert merge_field(LEVEL, [sure("3"), sure("3")]).state is State.SURE
    assert merge_field(LEVEL, [UNREAD, sure("3")]).value == "3"


def test_what_differs_is_a_doubt_with_both() -> None:
    merged = merge_field(LEVEL, [sure("3"), sure("8")])
    assert merged.state is State.DOUBT and set(merged.candidates) == {"3", "8"}
    assert "different" in merged.reason


def test_a_sure_value_stands_over_a_doubt_that_allows_it() -> None:
    assert merge_field(LEVEL, [doubt("8", "3"), sure("3")]).state is State.SURE
    contrary = merge_field(LEVEL, [doubt("8"), sure("3")])
    assert contrary.state is State.DOUBT and contrary.candidates == ("3", "8")


def test_doubts_stay_doubts() -> None:
    merged = merge_field(LEVEL, [doubt("8"), doubt("3", "8")])
    assert merged.state is State.DOUBT and merged.candidates == ("8", "3")
    assert merge_field(LEVEL, [UNREAD, doubt("8")]) == doubt("8")
    assert merge_field(LEVEL, [UNREAD, UNREAD]) == UNREAD


def test_a_running_clock_may_differ() -> None:
    merged = merge_field(CLOCK, [sure("21:40", CLOCK), sure("21:41", CLOCK)])
    assert (merged.state, merged.value) == (State.SURE, "21:41")


@given(st.lists(st.sampled_from([sure("3"), sure("8"), doubt("3"), doubt("8"), UNREAD])))
def test_never_sure_against_a_sure_value(looks: list[FieldReading]) -> None:
    merged = merge_field(LEVEL, looks)
    if merged.state is State.SURE:
        assert {look.value for look in looks if look.state is State.SURE} == {merged.value}
    assert all(look.value in (merged.value, *merged.candidates) for look in looks if look.value)


def test_every_field_of_the_firmware_once_and_pages_named() -> None:
    photo = PhotoReading("1.jpg", "aa", "a", 1.0, (sure("3"), sure("21:40", CLOCK)))
    other = PhotoReading("2.jpg", "bb", None, 1.0, ())
    reading = merge_photos(MAP, "2", [photo, photo, other])
    assert [field.id for field in reading.fields] == ["a.level", "a.clock", "b.new"]
    assert (reading.missing_pages, reading.repeated_pages) == (("b",), ("a",))
    assert (
        reading.fields[2].state is State.UNREAD and "not photographed" in reading.fields[2].reason
    )
    assert merge_photos(MAP, "1", [photo]).missing_pages == ()
    with pytest.raises(NotFound):
        merge_photos(MAP, "9", [photo])


def on(photo: str, field: FieldReading, confidence: float) -> FieldReading:
    return replace(field, photo=photo, confidence=confidence)


def test_a_certain_value_stands_over_faint_ones_of_other_photographs() -> None:
    certain = on("a", sure("3"), 0.999)
    assert merge_field(LEVEL, [certain, on("b", doubt("8"), 0.7)]).state is State.SURE
    # Not over a likely one, not when it is itself less certain, not over another sure one,
    # and not over another view of the same photograph, which shares its faults.
    assert merge_field(LEVEL, [certain, on("b", doubt("8"), 0.9)]).state is State.DOUBT
    less = on("a", sure("3"), 0.97)
    assert merge_field(LEVEL, [less, on("b", doubt("8"), 0.7)]).state is State.DOUBT
    assert merge_field(LEVEL, [certain, on("b", sure("8"), 0.7)]).state is State.DOUBT
    assert merge_field(LEVEL, [certain, on("a", doubt("8"), 0.7)]).state is State.DOUBT
    assert merge_field(LEVEL, [certain, on("b", doubt("8"), 0.7), UNREAD]).value == "3"


def test_two_photographs_bear_each_other_out() -> None:
    merged = merge_field(LEVEL, [on("a", doubt("3", "4"), 0.97), on("b", doubt("3", "9"), 0.96)])
    assert (merged.state, merged.value, merged.reason) == (State.SURE, "3", "")
    for other in (
        on("a", doubt("3"), 0.97),  # the same photograph
        on("b", doubt("3"), 0.9),  # not likely enough
        on("b", doubt("4", "3"), 0.97),  # another value
        on("b", doubt("3", "4"), 0.0),
    ):
        assert merge_field(LEVEL, [on("a", doubt("3", "4"), 0.97), other]).state is State.DOUBT


def test_frames_of_one_clip_share_their_faults() -> None:
    pair = [on("a", doubt("3", "4"), 0.97), on("b", doubt("3", "9"), 0.96)]
    assert merge_field(LEVEL, pair, {"a": "clip", "b": "other"}).state is State.SURE
    assert merge_field(LEVEL, pair, {"a": "clip", "b": "clip"}).state is State.DOUBT
    frames = [
        PhotoReading(f"{one.photo}.jpg", one.photo, "a", 0.0, (one,), clip="clip") for one in pair
    ]
    assert merge_photos(MAP, "1", frames).fields[0].state is State.DOUBT
    apart = [replace(frame, clip="") for frame in frames]
    assert merge_photos(MAP, "1", apart).fields[0].state is State.SURE


def test_look_alikes_are_never_borne_out() -> None:
    """A font that draws l as I does so on every photograph."""
    name = Field("a.name", "Name", Text(12))

    def read(photo: str, *candidates: str) -> FieldReading:
        return on(photo, seen(name, candidates[0], State.DOUBT, *candidates), 0.98)

    alike = [read("a", "SSII", "SSlI"), read("b", "SSII", "SSIl")]
    assert merge_field(name, alike).state is State.DOUBT
    assert merge_field(name, [read("a", "Ramp", "Rap"), read("b", "Ramp", "Ram")]).value == "Ramp"
    code = Field("a.code", "Code", Secret(8))
    both = [on(one, seen(code, "blank", State.DOUBT, "blank"), 0.99) for one in ("a", "b")]
    assert merge_field(code, both).state is State.DOUBT


def test_a_sign_that_both_photographs_may_hide_is_never_borne_out() -> None:
    """Both read "ffside", and say that more may stand there: "Offside"."""
    name = Field("a.name", "Name", Text())
    looks = [
        replace(
            seen(name, "ffside", State.DOUBT, "ffside", "Offside"), photo=photo, confidence=0.997
        )
        for photo in ("1", "2")
    ]
    assert merge_field(name, looks).state is State.DOUBT
    whole = [replace(look, candidates=("ffside", "ffsde")) for look in looks]
    assert merge_field(name, whole).state is State.SURE
