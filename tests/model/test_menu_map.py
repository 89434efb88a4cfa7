"""A menu map knows which fields a firmware has, and their factory values."""

from __future__ import annotations

import pytest

from asfound.errors import NotFound
from asfound.model.kinds import Choice, ReadOnly, Switch
from asfound.model.menu_map import Field, Keys, MenuMap, Page

KEYS = Keys("flat", "Up", "Down", "Left", "Right", "Enter", "Out", "Less", "More")
OLD = Field("a.old", "Old", Switch(), "on", until="2.0")
NEW = Field("a.new", "New", Switch(), "off", since="2.0", was="a.old")
BOTH = Field("b.both", "Both", Choice(("x", "y")), "x", defaults=(("2.0", "y"),))
CLOCK = Field("b.clock", "Clock", ReadOnly("clock"))
MAP = MenuMap(
    "demo", "Nobody", "Nothing", 1, ("1.0", "2.0"),
    (Page("a", "A", (OLD, NEW)), Page("b", "B", (BOTH, CLOCK))), KEYS,
)  # fmt: skip


def test_fields_come_and_go_with_the_firmware() -> None:
    assert MAP.fields_in("1.0") == (OLD, BOTH, CLOCK)
    assert MAP.fields_in("2.0") == (NEW, BOTH, CLOCK)
    assert MAP.page_fields(MAP.page("a"), "2.0") == (NEW,)


def test_a_default_may_change_with_the_firmware() -> None:
    assert MAP.default(BOTH, "1.0") == "x"
    assert MAP.default(BOTH, "2.0") == "y"
    assert MAP.default(CLOCK, "2.0") is None


def test_fields_and_pages_are_found_by_id() -> None:
    assert MAP.field("b.both") is BOTH
    assert MAP.page_of("b.clock").id == "b"
    assert MAP.has_firmware("1.0")
    assert not MAP.has_firmware("3.0")


@pytest.mark.parametrize("ask", ["field", "page", "page_of"])
def test_what_is_unknown_is_named(ask: str) -> None:
    with pytest.raises(NotFound, match="nowhere"):
        getattr(MAP, ask)("nowhere")


def test_unknown_firmware_is_refused_with_the_known_ones() -> None:
    with pytest.raises(NotFound, match=r"'9\.9'.*1\.0, 2\.0"):
        MAP.fields_in("9.9")


def test_read_only_and_running_values_are_not_settable() -> None:
    assert BOTH.settable
    assert not CLOCK.settable
    assert not Field("c", "C", Switch(), volatile=True).settable


def test_an_option_may_say_what_it_amounts_to() -> None:
    size = Choice(("Small", "Large"), (("Small", "352x288"),))
    assert size.amount("Small") == "352x288"
    assert size.amount("Large") is None
