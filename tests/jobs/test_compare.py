"""As left against target: every field accounted for, and no doubt ever counts as right."""

from __future__ import annotations

from collections.abc import Mapping

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.errors import InputError, NotFound, UsageError
from asfound.jobs.compare import Compare, compare
from asfound.model.difference import Verdict
from asfound.model.kinds import Choice, Date, ReadOnly, Secret
from asfound.model.menu_map import Field, Keys, MenuMap, Page
from asfound.model.reading import FieldReading, Reading, State
from asfound.model.target import Origin, Target, TargetValue

KEYS = Keys("flat", "U", "D", "L", "R", "OK", "B", "-", "+", "N", "P")
ROWS = (
    Field("x", "X", Choice(("a", "b", "c")), "a"),
    Field("code", "Code", Secret(), "blank"),
    Field("odd", "Odd", Choice(("a", "b"))),
    Field("clock", "Clock", Date(), volatile=True),
    Field("now", "Now", ReadOnly("clock")),
    Field("serial", "Serial", ReadOnly("serial")),
    Field("later", "Later", Choice(("a", "b")), "a", since="2"),
)
MAP = MenuMap("m", "M", "M", 1, ("1", "2"), (Page("p", "P", ROWS),), KEYS)


def target_of(values: Mapping[str, str], firmware: str = "1") -> Target:
    items = tuple(TargetValue(name, value, Origin.BASELINE) for name, value in values.items())
    return Target("m", firmware, items)


def reading_of(values: Mapping[str, str], doubts: tuple[str, ...] = ()) -> Reading:
    fields = []
    for field in MAP.fields_in("1"):
        value = values.get(field.id)
        state = State.DOUBT if field.id in doubts else State.SURE if value else State.UNREAD
        fields.append(FieldReading(field.id, field.label, "", value, state))
    return Reading("m", "1", (), tuple(fields), ())


def verdicts(target: Target, left: Reading, settled: Mapping[str, str]) -> dict[str, Verdict]:
    difference = compare(Compare(MAP, "1", target, left, settled))
    return {item.id: item.verdict for item in difference.fields}


@pytest.mark.parametrize(
    ("target", "left", "verdict"),
    [
        ("b", "b", Verdict.SAME),
        ("a", "a", Verdict.SAME),
        ("b", "a", Verdict.MISSED),
        ("b", "c", Verdict.WRONG),
        ("a", "c", Verdict.EXTRA),
    ],
)
def test_a_field_read_for_sure(target: str, left: str, verdict: Verdict) -> None:
    assert verdicts(target_of({"x": target}), reading_of({"x": left}), {})["x"] is verdict


def test_every_field_has_a_verdict_in_menu_order() -> None:
    left = reading_of({"serial": "Q7", "x": "a"})
    difference = compare(Compare(MAP, "1", target_of({"x": "a"}), left))
    assert [(item.id, item.verdict) for item in difference.fields] == [
        ("x", Verdict.SAME),
        ("code", Verdict.NO_TARGET),
        ("odd", Verdict.NO_TARGET),
        ("clock", Verdict.CLOCK),
        ("now", Verdict.CLOCK),
        ("serial", Verdict.NO_TARGET),
    ]
    assert difference.open_items() == ()
    assert sum(difference.counts().values()) == 6


def test_a_doubt_is_a_doubt_even_when_its_likeliest_value_is_right() -> None:
    left = reading_of({"x": "b"}, doubts=("x",))
    assert verdicts(target_of({"x": "b"}), left, {})["x"] is Verdict.DOUBT
    assert verdicts(target_of({"x": "b"}), reading_of({}), {})["x"] is Verdict.DOUBT
    assert verdicts(target_of({"x": "b"}), left, {"x": "b"})["x"] is Verdict.SAME
    assert verdicts(target_of({"x": "b"}), left, {"x": "c"})["x"] is Verdict.WRONG


def test_secrets_are_only_ever_set_or_blank() -> None:
    wanted = target_of({"code": "set"})
    assert verdicts(wanted, reading_of({"code": "set"}), {})["code"] is Verdict.SAME
    assert verdicts(wanted, reading_of({"code": "blank"}), {})["code"] is Verdict.MISSED


def test_an_unknown_factory_value_makes_it_wrong_not_missed() -> None:
    assert verdicts(target_of({"odd": "b"}), reading_of({"odd": "a"}), {})["odd"] is Verdict.WRONG


def test_what_does_not_belong_together_is_refused() -> None:
    good = reading_of({})
    cases: list[tuple[Target, dict[str, str], type[Exception]]] = [
        (target_of({}, "2"), {}, UsageError),
        (target_of({}), {"nothing": "a"}, NotFound),
        (target_of({}), {"x": "z"}, InputError),
    ]
    for target, settled, wrong in cases:
        with pytest.raises(wrong, match=";"):
            compare(Compare(MAP, "1", target, good, settled))
    with pytest.raises(UsageError, match="reading"):
        compare(Compare(MAP, "2", target_of({}, "2"), good))


VALUES = st.fixed_dictionaries({}, optional={"x": st.sampled_from("abc"), "odd": st.just("b")})


@given(VALUES, VALUES, st.sets(st.sampled_from(["x", "odd"])))
def test_same_means_read_for_sure_and_equal(
    wanted: dict[str, str], left: dict[str, str], doubts: set[str]
) -> None:
    result = verdicts(target_of(wanted), reading_of(left, tuple(doubts)), {})
    assert set(result) == {field.id for field in MAP.fields_in("1")}
    for name in ("x", "odd"):
        sure = left.get(name) is not None and name not in doubts
        is_same = name in wanted and sure and left[name] == wanted[name]
        assert (result[name] is Verdict.SAME) == is_same
