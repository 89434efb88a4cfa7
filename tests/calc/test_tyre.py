"""Tyres. Sources: tyre code (diameters and circumferences computed by hand from it); ETRTO factor
3.05 for rolling radial tyres (from memory)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.tyre import parse_tyre


@pytest.mark.parametrize(
    ("text", "diameter", "turns"),
    [
        ("295/80R22.5", 1043.5, 305.04),
        ("315/80 R 22.5", 1075.5, 295.96),
        ("275/70r22.5", 956.5, 332.79),
        ("205/55R16", 631.9, 503.73),
    ],
)
def test_sizes(text: str, diameter: float, turns: float) -> None:
    tyre = parse_tyre(text)
    assert tyre.diameter_mm == pytest.approx(diameter)
    assert tyre.unloaded_turns == pytest.approx(turns, abs=0.01)


def test_rolling_under_load() -> None:
    """3182.7 mm, 314.20 turns a km."""
    tyre = parse_tyre("295/80R22.5")
    assert tyre.rolling_turns == pytest.approx(314.20, abs=0.01)
    assert tyre.turns[0] < tyre.rolling_turns < tyre.turns[1]


@pytest.mark.parametrize("text", ["", "295", "295/80R99", "295/80R5", "999/80R22.5", "11R22.5"])
def test_what_is_no_size(text: str) -> None:
    with pytest.raises(ValueError, match=r"tyre size|inch"):
        parse_tyre(text)


@given(st.text(max_size=30))
def test_nothing_but_a_value_error(text: str) -> None:
    try:
        assert parse_tyre(text).diameter_mm > 0
    except ValueError as error:
        assert "\n" not in str(error)
