"""Sure or doubt. The rule itself is the project's own: never a silent guess."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.judge import Look, judge, nearly_known, third_opinion
from asfound.calc.parse_value import Parsed, parse_value
from asfound.model.kinds import Choice, FieldType, Level, Number, ReadOnly, Secret, Switch, Text
from asfound.model.menu_map import Field
from asfound.model.reading import State

RATES = Choice(("15 fps", "16 fps", "Half rate"))
DELAY = Number(Decimal(0), Decimal(90), Decimal(1), 0, "s", ("Off",))


def look(kind: FieldType, text: str, score: float = 1.0) -> Look:
    return Look(text, (score,) * len(text), parse_value(kind, text))


@pytest.mark.parametrize(
    ("kind", "text"),
    [(RATES, "15 fps"), (DELAY, "30 s"), (DELAY, "Off"), (Switch(), "On"), (Level(0, 9), "3"),
     (Text(), "Door rear"), (Secret(), "****")],
)  # fmt: skip
def test_two_clear_looks_that_agree_are_sure(kind: FieldType, text: str) -> None:
    judged = judge(kind, look(kind, text), look(kind, text))
    assert judged.state is State.SURE
    assert judged.value == parse_value(kind, text).value


@given(
    st.sampled_from(["15 fps", "16 fps", "Half rate", "1 fps", ""]),
    st.sampled_from(["15 fps", "16 fps", "Half rate", "1 fps", ""]),
    st.floats(0, 1),
    st.floats(0, 1),
)
def test_looks_that_differ_are_never_sure(one: str, two: str, first: float, second: float) -> None:
    judged = judge(RATES, look(RATES, one, first), look(RATES, two, second))
    if judged.state is State.SURE:
        assert one == two == judged.value


def test_options_one_character_apart_need_stronger_evidence() -> None:
    assert judge(RATES, look(RATES, "15 fps", 0.6), look(RATES, "15 fps", 0.6)).state is State.DOUBT
    far = judge(RATES, look(RATES, "Half rate", 0.6), look(RATES, "Half rate", 0.6))
    assert far.state is State.SURE


def test_the_weakest_figure_decides() -> None:
    weak = Look("30 s", (1.0, 0.4, 1.0, 1.0), parse_value(DELAY, "30 s"))
    judged = judge(DELAY, weak, look(DELAY, "30 s"))
    assert (judged.state, judged.value) == (State.DOUBT, "30")


def test_candidates_of_both_looks_are_offered() -> None:
    judged = judge(DELAY, look(DELAY, "30 s"), look(DELAY, "38 s"))
    assert judged.state is State.DOUBT
    assert judged.candidates[:2] == ("30", "38")


def test_nothing_legible_is_unread() -> None:
    assert judge(DELAY, look(DELAY, "%"), look(DELAY, "")).state is State.UNREAD


def test_look_alikes_in_free_text_are_asked_about_with_the_other_spelling() -> None:
    judged = judge(Text(), look(Text(), "0ffside"), look(Text(), "0ffside"))
    assert judged.state is State.DOUBT
    assert "Offside" in judged.candidates


def test_the_factory_value_of_what_cannot_be_set_needs_no_more() -> None:
    one = Look("0ctad", (0.7,) * 5, Parsed("Octad", ("Octad",)), known=True)
    assert judge(ReadOnly(), one, one).value == "Octad"
    assert judge(ReadOnly(), one, one).state is State.SURE


def test_a_third_look_outvotes_a_weak_one() -> None:
    looks = (look(DELAY, "30 s"), look(DELAY, "38 s", 0.3))
    before = judge(DELAY, *looks)
    assert third_opinion(DELAY, looks, look(DELAY, "30 s"), before).value == "30"
    assert third_opinion(DELAY, looks, look(DELAY, "30 s"), before).state is State.SURE


def test_a_third_look_does_not_outvote_a_strong_one() -> None:
    looks = (look(DELAY, "30 s"), look(DELAY, "38 s"))
    third = third_opinion(DELAY, looks, look(DELAY, "30 s"), judge(DELAY, *looks))
    assert third.state is State.DOUBT


def test_free_text_is_outvoted_only_on_a_missed_space() -> None:
    kind = Text()
    for odd, sure in (("Doorrear", True), ("Door near", False)):
        looks = (look(kind, "Door rear"), look(kind, odd, 0.3))
        third = third_opinion(kind, looks, look(kind, "Door rear"), judge(kind, *looks))
        assert (third.state is State.SURE) is sure
    looks = (look(kind, "Doorrear"), look(kind, "Door rear"))
    judged = judge(kind, *looks)
    assert (judged.state, judged.value) == (State.SURE, "Door rear")


def test_three_faint_looks_that_agree_bear_each_other_out() -> None:
    kind = Level(0, 10)
    faint = [Look("7", (score,), parse_value(kind, "7")) for score in (0.4, 0.5, 0.75)]
    before = judge(kind, faint[0], faint[1])
    assert before.state is State.DOUBT
    assert third_opinion(kind, (faint[0], faint[1]), faint[2], before).state is State.SURE
    weak = Look("7", (0.2,), parse_value(kind, "7"))
    assert third_opinion(kind, (weak, weak), faint[2], before).state is State.DOUBT
    other = Look("1", (0.6,), parse_value(kind, "1"))
    assert third_opinion(kind, (faint[0], faint[1]), other, before).state is State.DOUBT


@pytest.mark.parametrize(
    ("kind", "default", "value", "known"),
    [
        (ReadOnly(), "Octad", "Octod", "Octad"),
        (ReadOnly(), "Octad", "Octad", None),
        (ReadOnly(), "Octad", "Quartet", None),
        # A version is told from the next by one figure.
        (ReadOnly("version"), "3.4.1", "3.4.2", None),
        # What can be set may well be nearly what the factory sets.
        (Text(12), "Depot", "Depo", None),
    ],
)
def test_a_name_nearly_known_is_asked_about(
    kind: FieldType, default: str, value: str, known: str | None
) -> None:
    assert nearly_known(Field("unit.model", "Model", kind, default), value) == known
