"""What a drafted map leaves open is taken from a person; what it confirms, or is a slip, is not."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.open_values import LONGEST, unlisted, value_problem
from asfound.calc.typed_value import typed_value
from asfound.model.kinds import (
    Choice,
    Date,
    FieldType,
    Host,
    IPv4,
    Level,
    Number,
    Secret,
    Switch,
    Text,
    Time,
)
from asfound.model.values import problem, shown

LIST = Choice(("CIF", "HD 720"))
SPAN = Number(Decimal(0), Decimal(60), unit="s", words=("Never",))

OPEN: list[tuple[FieldType, tuple[str, ...], str]] = [
    (LIST, ("options",), "HD 1080"),
    (LIST, ("label", "type"), "QVGA"),
    (Switch("On", "Off"), ("options",), "Auto"),
    (SPAN, ("range",), "90"),
    (SPAN, ("range",), "2.5"),
    (SPAN, ("options",), "Always"),
    (SPAN, ("type",), "720p"),
    (Level(0, 10), ("type", "range"), "15"),
    (Time(), ("type",), "Midnight"),
    (Date(), ("type",), "None"),
    (IPv4(), ("type",), "Automatic"),
    (Text(4), ("length",), "ABCDEF"),
    (Host(4), ("length",), "rec.example.net"),
    (Host(), ("type",), "not set"),
]


@pytest.mark.parametrize(("kind", "drafted", "value"), OPEN)
def test_a_draft_takes_what_it_has_not_seen_and_a_confirmed_row_does_not(
    kind: FieldType, drafted: tuple[str, ...], value: str
) -> None:
    assert value_problem(kind, drafted, value) is None and unlisted(kind, drafted, value)
    assert typed_value(kind, f" {value} ", drafted) == (value, "")
    for closed in ((), ("label",), ("label", "default")):
        assert value_problem(kind, closed, value) == problem(kind, value) is not None
        assert not unlisted(kind, closed, value)
        assert typed_value(kind, value, closed)[0] is None


@pytest.mark.parametrize(
    ("kind", "value"),
    [
        (LIST, "HD 72O"),  # the letter O for a figure: a slip, or nobody could tell
        (LIST, "hd720"),
        (LIST, ""),
        (LIST, "x" * (LONGEST + 1)),
        (Switch("Enabled", "Disabled"), "Enab1ed"),
        (SPAN, "1O"),
        (SPAN, "never"),
        (Time(), "25:00"),
        (Date(), "2026-02-30"),
        (IPv4(), "300.1.1.1"),
        (Secret(), "4711"),
    ],
)
def test_slips_and_passwords_are_refused_in_a_draft_too(kind: FieldType, value: str) -> None:
    drafted = ("label", "type", "options", "range", "length", "layout")
    assert value_problem(kind, drafted, value) is not None
    assert not unlisted(kind, drafted, value)
    if isinstance(kind, Secret):
        assert "4711" not in str(value_problem(kind, drafted, value))


def test_what_looks_like_a_listed_value_is_named() -> None:
    assert "looks like 'HD 720'" in str(value_problem(LIST, ("options",), "HD 72O"))


@given(st.sampled_from(OPEN), st.text(max_size=12))
def test_whatever_a_closed_row_takes_an_open_one_takes_as_listed(
    row: tuple[FieldType, tuple[str, ...], str], value: str
) -> None:
    kind, drafted, _ = row
    if problem(kind, value) is None:
        assert value_problem(kind, drafted, value) is None
        assert not unlisted(kind, drafted, value)


@pytest.mark.parametrize(("kind", "value"), [(kind, value) for kind, _, value in OPEN])
def test_words_that_the_map_does_not_list_are_shown_as_they_are(
    kind: FieldType, value: str
) -> None:
    # "Auto" of a drafted switch is not Off, and a word takes no unit.
    expected = f"{value} s" if kind is SPAN and value in ("90", "2.5") else value
    assert shown(kind, value) == expected
