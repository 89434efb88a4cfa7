"""Who decides what a setting should be: override, class, baseline, as found, in that order.

The order is the operator's own rule (common practice, no source); what must never happen is a
value that nobody gave.
"""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.small_maps import random_values

from asfound.errors import InputError, NotFound
from asfound.jobs.build_target import BuildTarget, build_target
from asfound.model.fleet import Standard
from asfound.model.kinds import Choice, Date, ReadOnly, Secret, Switch
from asfound.model.menu_map import Field, Keys, MenuMap, Page
from asfound.model.target import Origin
from asfound.ports.backends.map_toml import load_map, shipped_map_paths

OCTAD = load_map(shipped_map_paths()["quillfen-octad"])
LETTERS = Choice(("a", "b", "c"))
KEYS = Keys("flat", "U", "D", "L", "R", "OK", "B", "-", "+", "N", "P")
ROWS = (
    Field("plain", "Plain", LETTERS, "a"),
    Field("code", "Code", Secret(), "blank"),
    Field("old", "Old", Choice(("a", "b", "x")), "a", until="2"),
    Field("mid", "Mid", LETTERS, "a", since="2", until="3", was="old"),
    Field("new", "New", LETTERS, "a", since="3", was="mid"),
    Field("fresh", "Fresh", Switch(), "off", since="2"),
    Field("clock", "Clock", Date(), volatile=True),
    Field("serial", "Serial", ReadOnly("serial")),
)
MAP = MenuMap("m", "M", "M", 1, ("1", "2", "3"), (Page("p", "P", ROWS),), KEYS)
NOTHING = Standard("m", {}, {})


def test_the_first_that_speaks_wins() -> None:
    standard = Standard("m", {"plain": "a"}, {"bus": {"plain": "b"}})
    found = {"plain": "c"}
    cases = [
        (BuildTarget(MAP, "1", standard, "bus", {"plain": "c"}, found), "c", Origin.OVERRIDE),
        (BuildTarget(MAP, "1", standard, "bus", {}, found), "b", Origin.CLASS),
        (BuildTarget(MAP, "1", standard, "lorry", {}, found), "a", Origin.BASELINE),
        (BuildTarget(MAP, "1", NOTHING, "bus", {}, found), "c", Origin.AS_FOUND),
    ]
    for request, value, origin in cases:
        (item,) = build_target(request).values
        assert (item.value, item.origin, item.as_found) == (value, origin, "c")


def test_a_value_nobody_gave_is_unknown_and_clocks_and_serials_are_left_out() -> None:
    found = {"plain": "a", "serial": "Q7", "clock": "2026-01-01"}
    target = build_target(BuildTarget(MAP, "1", NOTHING, as_found=found))
    assert target.as_dict() == {"plain": "a"}
    assert target.unknown == ("code", "old")


@pytest.mark.parametrize(
    ("old", "new", "found", "expected"),
    [
        ("1", "2", {"old": "b"}, {"mid": "b"}),
        ("1", "3", {"old": "b"}, {"new": "b"}),  # over two renamings
        ("3", "1", {"new": "b"}, {"old": "b"}),  # firmware put back
        ("1", "2", {"old": "x"}, {}),  # the new field does not take it: not guessed
        ("1", "2", {"code": "set"}, {"code": "set"}),
    ],
)
def test_renamed_fields_carry_their_value_over(
    old: str, new: str, found: dict[str, str], expected: dict[str, str]
) -> None:
    request = BuildTarget(MAP, new, NOTHING, as_found=found, as_found_firmware=old)
    target = build_target(request)
    assert target.as_dict() == expected
    present = {field.id for field in MAP.fields_in(new) if field.settable}
    assert set(target.unknown) == present - set(expected)


def test_a_standard_written_for_older_firmware_still_speaks() -> None:
    standard = Standard("m", {"old": "b", "fresh": "on"}, {})
    assert build_target(BuildTarget(MAP, "3", standard)).as_dict() == {"new": "b", "fresh": "on"}
    assert build_target(BuildTarget(MAP, "1", standard)).as_dict() == {"old": "b"}


@pytest.mark.parametrize(
    ("overrides", "wrong"),
    [
        ({"nothing": "a"}, NotFound),
        ({"plain": "z"}, InputError),
        ({"serial": "1"}, InputError),
        ({"clock": "2026-01-01"}, InputError),
    ],
)
def test_a_standard_or_override_that_cannot_be_is_refused(
    overrides: dict[str, str], wrong: type[Exception]
) -> None:
    with pytest.raises(wrong, match=";"):
        build_target(BuildTarget(MAP, "1", NOTHING, overrides=overrides))
    with pytest.raises(wrong, match=";"):
        build_target(BuildTarget(MAP, "1", Standard("m", overrides, {})))


def test_unknown_names_in_what_was_found_and_unknown_firmware_are_refused() -> None:
    with pytest.raises(NotFound):
        build_target(BuildTarget(MAP, "1", NOTHING, as_found={"nothing": "a"}))
    with pytest.raises(NotFound):
        build_target(BuildTarget(MAP, "9", NOTHING))


@settings(max_examples=15, deadline=None)
@given(data=st.data())
def test_every_setting_is_either_a_target_or_unknown(data: st.DataObject) -> None:
    old, new = data.draw(st.permutations(OCTAD.firmware))[:2]
    found = data.draw(random_values(OCTAD, old))
    standard = Standard(OCTAD.id, data.draw(random_values(OCTAD, new)), {})
    request = BuildTarget(OCTAD, new, standard, as_found=found, as_found_firmware=old)
    target = build_target(request)
    settable = [field.id for field in OCTAD.fields_in(new) if field.settable]
    assert sorted([*target.as_dict(), *target.unknown]) == sorted(settable)
    given_values = set(found.values()) | set(standard.baseline.values())
    assert {item.value for item in target.values} <= given_values
