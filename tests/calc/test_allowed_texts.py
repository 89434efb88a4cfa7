"""Which texts may stand for a field: against the menu map's own rules (model/values.py)."""

from __future__ import annotations

from decimal import Decimal

import pytest

from asfound.calc.allowed_texts import MOST, allowed_texts
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
from asfound.model.values import problem, shown


def test_a_choice_and_a_switch() -> None:
    assert allowed_texts(Choice(("CIF", "HD 720"))) == {"CIF": "CIF", "HD 720": "HD 720"}
    assert allowed_texts(Switch("Yes", "No")) == {"Yes": "on", "No": "off"}


def test_levels() -> None:
    assert list(allowed_texts(Level(-1, 2)).values()) == ["-1", "0", "1", "2"]


def test_numbers_with_unit_and_words() -> None:
    kind = Number(Decimal(0), Decimal(1), Decimal("0.5"), 1, "s", ("Never",))
    assert allowed_texts(kind) == {"Never": "Never", "0.0 s": "0.0", "0.5 s": "0.5", "1.0 s": "1.0"}


def test_a_unit_named_in_the_label_may_be_left_out() -> None:
    kind = Number(Decimal(10), Decimal(20), Decimal(10), unit="km/h")
    assert allowed_texts(kind, "Limit") == {"10 km/h": "10", "20 km/h": "20"}
    assert allowed_texts(kind, "Limit (KM/H)") == {
        "10 km/h": "10",
        "10": "10",
        "20 km/h": "20",
        "20": "20",
    }


def test_a_maximum_that_no_step_reaches_is_not_listed() -> None:
    kind = Number(Decimal(1), Decimal(10), Decimal(4))
    assert list(allowed_texts(kind)) == ["1", "5", "9"]


@pytest.mark.parametrize(
    "kind",
    [
        Choice(("A", "B")),
        Switch(),
        Level(0, 10),
        Number(Decimal(-5), Decimal(5)),
        Number(Decimal("-0.5"), Decimal("0.5"), Decimal("0.25"), 2, "g"),
        Number(Decimal(5), Decimal(60), Decimal(5), 0, "min", ("Off", "Always")),
    ],
)
def test_every_listed_value_is_allowed_and_shown_so(kind: FieldType) -> None:
    listed = allowed_texts(kind)
    assert listed
    for text, value in listed.items():
        assert problem(kind, value) is None
        assert shown(kind, value) == text


def test_the_most_that_is_listed() -> None:
    assert len(allowed_texts(Number(Decimal(0), Decimal(MOST)))) == MOST + 1
    assert allowed_texts(Number(Decimal(0), Decimal(MOST + 1))) == {}


@pytest.mark.parametrize("kind", [Time(), Date(), IPv4(), Host(), Text(), Secret(), ReadOnly()])
def test_what_cannot_be_listed(kind: FieldType) -> None:
    assert allowed_texts(kind) == {}
