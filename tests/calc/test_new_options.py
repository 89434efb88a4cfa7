"""What a drafted list does not know is never taken for what it knows."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.new_options import with_new_options
from asfound.model.kinds import Choice, FieldType, Number, Secret, Switch, Text
from asfound.model.menu_map import Field
from asfound.model.reading import FieldReading, State

DRAFTED = ("label", "type", "options")
NUMBER = Number(Decimal(0), Decimal(99), words=("Never",))


def read(
    kind: FieldType, text: str, value: str | None, state: State, drafted: tuple[str, ...] = DRAFTED
) -> FieldReading:
    field = Field("a.b", "Label", kind, drafted=drafted)
    candidates = () if value is None else (value,)
    return with_new_options(field, FieldReading("a.b", "Label", text, value, state, candidates))


@pytest.mark.parametrize("text", ["H.264", "< H.264 >", "[ H.264 ]", "h.264"])
def test_known_options_stay_sure(text: str) -> None:
    assert read(Choice(("H.264",)), text, "H.264", State.SURE).state is State.SURE


@pytest.mark.parametrize("state", [State.SURE, State.DOUBT])
def test_a_near_option_is_a_doubt_with_the_text_first(state: State) -> None:
    got = read(Choice(("H.264",)), "H.265", "H.264", state)
    assert got.state is State.DOUBT
    assert got.candidates == ("H.265", "H.264")
    assert got.value == "H.265"


def test_an_unread_value_becomes_a_candidate() -> None:
    got = read(NUMBER, "Until full", None, State.UNREAD)
    assert (got.state, got.candidates) == (State.DOUBT, ("Until full",))


def test_figures_read_exactly_stay_sure() -> None:
    assert read(NUMBER, "< 31", "31", State.SURE).state is State.SURE


def test_confirmed_lists_and_open_types_are_left_alone() -> None:
    sure = read(Choice(("No",)), "Not", "No", State.SURE, ("label",))
    assert sure.state is State.SURE
    assert read(Text(), "anything", "anything", State.SURE).state is State.SURE
    assert read(Secret(), "", "set", State.SURE).state is State.SURE
    assert read(Switch(), "", None, State.UNREAD).state is State.UNREAD


def test_which_word_is_on_is_asked_until_confirmed() -> None:
    armed = Switch("Idle", "Armed")
    got = read(armed, "Idle", "on", State.SURE)
    assert (got.state, got.candidates) == (State.DOUBT, ("on", "off"))
    assert read(armed, "Idle", "on", State.SURE, ("label",)).state is State.SURE
    assert read(Switch("Yes", "No"), "Yes", "on", State.SURE).state is State.SURE
    assert read(Switch("Off", "On"), "On", "off", State.SURE).state is State.DOUBT


@given(st.text(max_size=12))
def test_never_sure_of_another_word(text: str) -> None:
    got = read(Switch("On", "Off"), text, "on", State.SURE)
    letters = "".join(sign for sign in text if sign.isalnum()).casefold()
    if letters and "on" not in letters and "0n" not in letters and "off" not in letters:
        assert got.state is State.DOUBT or not letters.isascii()
