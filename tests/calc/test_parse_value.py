"""Parsing of values. The outside check is model.values: what it shows must parse back to it, and
whatever is taken for sure must be canonical by its own rules."""

from __future__ import annotations

import string
from datetime import date, time
from decimal import Decimal

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from asfound.calc.parse_value import bare, nearest_gap, parse_value
from asfound.model.kinds import (
    Choice,
    Date,
    FieldType,
    Host,
    IPv4,
    Level,
    Number,
    ReadOnly,
    Secret,
    Switch,
    Text,
    Time,
)
from asfound.model.values import canonical_number, problem, shown

RATES = Choice(("1 fps", "15 fps", "16 fps", "25 fps"))
DELAY = Number(Decimal(0), Decimal(300), Decimal(5), 0, "s", ("Off",))
SHOCK = Number(Decimal("0.10"), Decimal("2.50"), Decimal("0.05"), 2, "g")
FROST = Number(Decimal(-30), Decimal(10), Decimal(1), 0, "°C")

KINDS: list[FieldType] = [
    RATES, Choice(("Off", "Low", "High")), Switch(), Switch("Yes", "No"), DELAY, SHOCK, FROST,
    Level(0, 15), Time(), Time(seconds=True), Date(), Date("DD.MM.YYYY"), Date("MM/DD/YYYY"),
    IPv4(), IPv4(padded=True), Host(), Text(12), Secret(), ReadOnly(),
]  # fmt: skip


@st.composite
def values(draw: st.DrawFn) -> tuple[FieldType, str]:
    """A field type and one of its canonical values."""
    kind = draw(st.sampled_from(KINDS))
    match kind:
        case Choice():
            return kind, draw(st.sampled_from(kind.options))
        case Switch():
            return kind, draw(st.sampled_from(["on", "off"]))
        case Number():
            steps = int((kind.maximum - kind.minimum) / kind.step)
            number = kind.minimum + kind.step * draw(st.integers(0, steps))
            return kind, draw(st.sampled_from([canonical_number(kind, number), *kind.words]))
        case Level():
            return kind, str(draw(st.integers(kind.minimum, kind.maximum)))
        case Time():
            moment = draw(st.times())
            return kind, moment.strftime("%H:%M:%S" if kind.seconds else "%H:%M")
        case Date():
            return kind, draw(st.dates(date(2000, 1, 1), date(2099, 12, 31))).isoformat()
        case IPv4():
            # Addresses that nobody can have: tests/calc/test_grammars.py.
            first, rest = draw(st.integers(1, 239)), st.integers(0, 255)
            parts = [first, *draw(st.lists(rest, min_size=3, max_size=3))]
            return kind, ".".join(map(str, parts))
        case Host():
            return kind, draw(st.from_regex(r"[a-z][a-z0-9.-]{0,20}[a-z0-9]", fullmatch=True))
        case Secret():
            return kind, draw(st.sampled_from(["set", "blank"]))
        case _:
            letters = string.ascii_letters + string.digits
            words = st.lists(st.text(letters, min_size=1, max_size=5), min_size=1, max_size=2)
            return kind, " ".join(draw(words))


@given(values())
@example((FROST, "-5"))
@example((SHOCK, "0.35"))
def test_what_the_screen_shows_parses_to_the_value(case: tuple[FieldType, str]) -> None:
    kind, value = case
    assert parse_value(kind, shown(kind, value)).value == value


@given(st.sampled_from(KINDS), st.text(string.printable, max_size=20))
@example(RATES, "15fps")
@example(DELAY, "7 s")
@example(Time(), "24:00")
@example(Date("DD.MM.YYYY"), "31.02.2026")
@example(IPv4(), "10.0.0.256")
def test_only_canonical_values_are_taken_for_sure(kind: FieldType, text: str) -> None:
    parsed = parse_value(kind, text)
    if parsed.value is not None:
        assert problem(kind, parsed.value) is None
    assert all(problem(kind, one) is None for one in parsed.candidates)


@given(values(), st.sampled_from([("[", "]"), ("<", ">"), ("«", "»"), ("( ", " )"), ("", "•")]))
def test_marks_round_a_value_do_not_change_it(
    case: tuple[FieldType, str], marks: tuple[str, str]
) -> None:
    kind, value = case
    if not isinstance(kind, Host | Text | ReadOnly | Secret):
        before, after = marks
        assert parse_value(kind, f"{before}{shown(kind, value)}{after}").value == value


@pytest.mark.parametrize(
    ("kind", "text", "candidate"),
    [
        (RATES, "14 fps", "15 fps"),
        (Switch(), "Of", "off"),
        (DELAY, "3O s", "30"),
        (SHOCK, "035 g", "0.35"),
        (Time(), "O8:15", "08:15"),
        (Date("DD.MM.YYYY"), "O1.02.2026", "2026-02-01"),
        (IPv4(), "1O.0.0.1", "10.0.0.1"),
        (Host(), "cam 1.test", "cam1.test"),
    ],
)
def test_near_values_are_offered_and_not_taken(kind: FieldType, text: str, candidate: str) -> None:
    parsed = parse_value(kind, text)
    assert parsed.value is None
    assert candidate in parsed.candidates


@pytest.mark.parametrize(
    ("kind", "text"),
    [
        (DELAY, "30"),  # the unit is missing: perhaps a figure is, too
        (SHOCK, "0.3 g"),  # a decimal is missing
        (SHOCK, "0.37 g"),  # not on a step
        (FROST, "- C"),
        (Level(0, 15), "16"),
        (IPv4(padded=True), "192.168.1.10"),
        (IPv4(), "192.168.001.010"),
        (Secret(), "......"),  # a leader, or a mask?
    ],
)
def test_what_does_not_fit_the_type_is_no_value(kind: FieldType, text: str) -> None:
    assert parse_value(kind, text).value is None


def test_a_label_may_name_the_unit() -> None:
    assert parse_value(DELAY, "30", "Delay (s)").value == "30"


def test_lone_marks_round_an_option() -> None:
    for text in ("4 o Yes 4", "o Yes", "Yes >", "1 Yes"):
        assert parse_value(Switch("Yes", "No"), text).value == "on"
    assert parse_value(DELAY, "16 s").value is None
    assert parse_value(Switch("Yes", "No"), "or Yes").value is None


def test_a_lost_degree_sign_does_no_harm() -> None:
    assert parse_value(FROST, "-5 C").value == "-5"
    assert parse_value(FROST, "-50C").value is None


def test_a_lone_leading_zero_for_an_o_is_harmless_where_no_option_is_like_it() -> None:
    assert parse_value(Switch(), "0ff").value == "off"
    assert parse_value(Choice(("O1", "01")), "O1").value == "O1"


def test_a_running_clock_gets_its_space_back() -> None:
    parsed = parse_value(ReadOnly("clock"), "17/03/202621:42:17")
    assert parsed.value == "17/03/2026 21:42:17"


def test_gaps_and_marks() -> None:
    assert nearest_gap(RATES, "15 fps") == 1
    assert nearest_gap(Switch(), "on") == 2
    assert nearest_gap(Level(0, 5), "3") == 1
    assert bare("< 15 fps >") == ("<", "15 fps", ">")
    assert time(8, 15).strftime("%H:%M") == parse_value(Time(), "[08:15]").value


def test_a_mark_on_one_side_only_may_hide_a_figure() -> None:
    """An arrow before a figure looks like a 1: "<5>" once came out as "15>"."""
    whole = Number(Decimal(1), Decimal(60), unit="s")
    assert parse_value(whole, "< 15 s >").value == "15"
    lopsided = parse_value(whole, "15 s >")
    assert lopsided.value is None
    assert {"15", "5"} <= set(lopsided.candidates)


def test_marks_glued_to_a_word_or_a_unit() -> None:
    """A lamp and an arrow taken for "10", an arrow for a letter: common on menus with arrows."""
    kind = Switch("Yes", "No")
    assert parse_value(kind, "10 Yes").value == "on"
    assert parse_value(kind, "ANo").value == "off"
    assert parse_value(kind, "NoT").value == "off"
    assert parse_value(kind, "or No").value is None
    assert parse_value(Choice(("Low", "Slow", "Lower")), "Slow").value == "Slow"
    assert parse_value(Choice(("15 fps", "5 fps")), "x5 fps").value != "15 fps"
    half = Number(Decimal("0.2"), Decimal("4.0"), Decimal("0.1"), 1, "g")
    assert parse_value(half, "0.7 gr").value == "0.7"
    assert parse_value(half, "0.79").value is None


@pytest.mark.parametrize(
    ("text", "value"),
    [("20. 3 V", "20.3 V"), ("14 :38 today", "14:38 today"), ("Octad 4. 0", "Octad 4.0")],
)
def test_figures_that_a_recorder_writes_itself_have_no_space_at_their_points(
    text: str, value: str
) -> None:
    """How amounts and times are written (ISO 80000-1, ISO 8601); a person's own text may differ."""
    assert parse_value(ReadOnly(), text).value == value
    assert parse_value(Text(20), text).value == text


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("DO:14:D0:F0:32:8B", "D0:14:D0:F0:32:8B"),
        ("lO-14-dI-f0-32-8b", "10-14-d1-f0-32-8b"),
        ("DO:14:D0:F0:32", "DO:14:D0:F0:32"),  # no EUI-48
        ("GO:14:D0:F0:32:8B", "GO:14:D0:F0:32:8B"),
    ],
)
def test_a_hardware_address_is_hexadecimal(text: str, value: str) -> None:
    """IEEE 802-2014, 8.1: six groups of two hexadecimal digits; O, I and l are none."""
    assert parse_value(ReadOnly(), text).value == value
    assert parse_value(Text(), text).value == text
