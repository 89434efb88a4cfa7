"""A session of settling: keys, answers, and an undo that is exact, across fields."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.visit_kit import MAP

from asfound.calc.settling import (
    Question,
    Settling,
    answered,
    key_press,
    offers,
    questions,
    skipped,
    undone,
)
from asfound.model.kinds import Choice, Level, Number, Secret, Switch, Text
from asfound.model.reading import FieldReading, Reading, State


def doubt(field: str, *seen: str, state: State = State.DOUBT) -> FieldReading:
    value = seen[0] if seen else None
    return FieldReading(
        field, MAP.field(field).label, "?", value, state, seen, None, "f00", "faint"
    )


FIELDS = (
    doubt("general.name", "AB", "BA"),
    doubt("general.code", "set"),
    replace(doubt("camera-1.record", "on"), state=State.SURE),
    doubt("camera-1.size", state=State.UNREAD),
    doubt("camera-2.record", "on"),
)
READING = Reading(MAP.id, "1.0", (), FIELDS, ("camera-2",))


def session() -> Settling:
    return Settling(questions(READING, (), MAP))


def test_what_is_asked_and_what_each_key_offers() -> None:
    asked = session().questions
    # Sure values, and a page that was not photographed, are not asked about.
    assert [one.id for one in asked] == ["general.name", "general.code", "camera-1.size"]
    name, code, size = asked
    assert (name.page, name.number, name.pages) == ("General", 1, 3)
    assert [(offer.text, offer.read) for offer in name.offers] == [("AB", True), ("BA", True)]
    assert [(o.value, o.text, o.read) for o in code.offers] == [
        ("set", "set", True), ("blank", "blank", False),
    ]  # fmt: skip
    assert code.secret and not name.secret
    assert [(offer.text, offer.read) for offer in size.offers] == [("CIF", False), ("HD", False)]
    assert questions(READING, {"general.name", "general.code"}, MAP) == (size,)


def test_offers_of_long_lists_and_of_values_the_field_cannot_have() -> None:
    many = Choice(tuple(f"option {number}" for number in range(12)))
    seen = replace(FIELDS[0], candidates=("option 3", "none such"), value="option 3")
    assert [offer.value for offer in offers(many, seen)] == ["option 3"]
    rate = Number(Decimal(1), Decimal(30), unit="fps", words=("Full",))
    seen = replace(FIELDS[0], candidates=("15", "16"), value="15")
    assert [offer.text for offer in offers(rate, seen)] == ["15 fps", "16 fps", "Full"]
    seen = replace(FIELDS[0], candidates=tuple(str(n) for n in range(20)), value="0")
    assert len(offers(Level(0, 99), seen)) == 9
    blank = replace(FIELDS[0], candidates=("",), value="")
    assert [offer.text for offer in offers(Text(8), blank)] == ["(blank)"]
    assert [offer.value for offer in offers(Switch(), replace(blank, candidates=("off",)))] == [
        "off",
        "on",
    ]


@pytest.mark.parametrize(
    ("key", "act", "value"),
    [
        ("1", "answer", "AB"), ("2", "answer", "BA"), ("3", "unknown", ""), ("0", "unknown", ""),
        ("t", "type", ""), ("T", "type", ""), ("s", "skip", ""), ("b", "answer", ""),
        ("p", "picture", ""), ("q", "stop", ""), ("u", "unknown", ""), ("\r", "unknown", ""),
        ("", "unknown", ""), ("x", "unknown", ""), ("²", "unknown", ""), ("\x1b[A", "unknown", ""),
    ],
)  # fmt: skip
def test_keys_at_a_text(key: str, act: str, value: str) -> None:
    press = key_press(session(), key)
    assert (press.act, press.value) == (act, value)
    assert bool(press.hint) == (act == "unknown")


def test_blank_is_said_of_a_secret_and_refused_where_it_cannot_be() -> None:
    at_code = skipped(session())
    assert key_press(at_code, "b").value == "blank"
    at_size = skipped(at_code)
    assert key_press(at_size, "b").act == "unknown" and "not one of" in key_press(at_size, "b").hint
    assert key_press(at_size, "u").act == "undo"


def test_at_the_end_any_key_stops_and_undo_goes_back() -> None:
    end = session()
    while end.current is not None:
        end = skipped(end)
    assert key_press(end, "1").act == "stop" and key_press(end, "u").act == "undo"
    for act in (skipped, lambda at: answered(at, "AB")):
        with pytest.raises(ValueError, match="nothing is asked"):
            act(end)
    assert len(end.left()) == 3 and undone(end).current == end.questions[2]


def test_a_value_that_the_field_cannot_have_is_refused() -> None:
    with pytest.raises(ValueError, match="longer than 8"):
        answered(session(), "ABABABABA")


VALUES = {Text: ["AB", "", "B"], Secret: ["set", "blank"], Choice: ["CIF", "HD"]}
MOVES = st.lists(st.one_of(st.integers(0, 2), st.sampled_from(["skip", "undo"])), max_size=25)


def moved(at: Settling, move: int | str) -> Settling:
    asked = at.current
    if move == "undo":
        return undone(at)
    if asked is None:
        return at
    if isinstance(move, str):
        return skipped(at)
    allowed = VALUES[type(asked.kind)]
    return answered(at, allowed[move % len(allowed)])


@given(MOVES)
def test_undo_takes_back_exactly_one_step(moves: list[int | str]) -> None:
    at = session()
    stack = [at]
    for move in moves:
        at = moved(at, move)
        if move == "undo":
            stack = stack[:-1] if len(stack) > 1 else stack
        elif at != stack[-1]:
            stack.append(at)
        # A plain stack of the states seen is the model that the session is held against.
        assert at == stack[-1]
    for before in reversed(stack[:-1]):
        at = undone(at)
        assert at == before
    assert undone(at) == session()


@given(MOVES)
def test_every_question_is_answered_or_left(moves: list[int | str]) -> None:
    at = session()
    for move in moves:
        at = moved(at, move)
    known, left = set(at.values()), {one.id for one in at.left()}
    assert known.isdisjoint(left) and known | left == {one.id for one in at.questions}
    current: Question | None = at.current
    assert current is None or current.id in left
