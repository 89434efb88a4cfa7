"""What several views of one photograph add up to: both show the same picture."""

from __future__ import annotations

import pytest

from asfound.jobs.read_photo import over_views
from asfound.model.kinds import Choice, FieldType, Secret, Text
from asfound.model.menu_map import Field
from asfound.model.reading import FieldReading, State

SURE, DOUBT, UNREAD = State.SURE, State.DOUBT, State.UNREAD


def one(state: State, *values: str, text: str | None = None) -> FieldReading:
    value = values[0] if values else None
    shown = (value or "") if text is None else text
    return FieldReading("a", "A", shown, value, state, values)


def merged(kind: FieldType, *looks: FieldReading) -> FieldReading:
    return over_views(Field("a", "A", kind), looks)


@pytest.mark.parametrize("other", ["cam0", "camo", "cam O", "cam.O"])
def test_a_look_alike_in_another_view_leaves_free_text_open(other: str) -> None:
    found = merged(Text(), one(SURE, "camO"), one(DOUBT, "camO", other))
    assert (found.state, found.value) == (DOUBT, "camO")
    assert found.candidates[:2] == ("camO", other)


def test_another_text_in_another_view_leaves_free_text_open() -> None:
    found = merged(Text(), one(DOUBT, "Dock 16", "Dock 10"), one(SURE, "Dock 10"))
    assert (found.state, found.value) == (DOUBT, "Dock 10")


@pytest.mark.parametrize("kind", [Text(), Choice(("Ramp", "Camp"))])
def test_a_doubt_about_the_same_text_does_not(kind: FieldType) -> None:
    found = merged(kind, one(SURE, "Ramp"), one(DOUBT, "Ramp", "Camp"))
    assert (found.state, found.value) == (SURE, "Ramp")


@pytest.mark.parametrize(("kind", "empty"), [(Text(), ""), (Secret(), "blank")])
def test_a_blank_needs_every_view(kind: FieldType, empty: str) -> None:
    assert merged(kind, one(SURE, empty), one(SURE, empty)).state is SURE
    seen = one(DOUBT, "5" if empty == "" else "set", empty, text="")
    assert merged(kind, one(SURE, empty), seen).state is DOUBT
    assert merged(kind, one(SURE, empty), one(UNREAD)).state is SURE


def test_writing_stands_over_a_view_that_overlooked_it() -> None:
    found = merged(Text(), one(DOUBT, "", text=""), one(SURE, "Depot"))
    assert (found.state, found.value) == (SURE, "Depot")
