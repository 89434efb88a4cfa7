"""Values that line up, and rows told by their place. Rows at even distances in one column are how
menus are drawn: common practice, no source."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.match_page import PageMatch, match_page
from asfound.calc.textlines import Line
from asfound.calc.value_columns import Columns, placed_spots, value_columns
from asfound.calc.value_spots import Spot, value_spots
from asfound.model.kinds import Text
from asfound.model.menu_map import Field, Page

HIGH = 20.0
PITCH = 36.0
LABELS = ("Name", "Record", "Picture size", "Quality", "Sound", "Brightness", "Contrast")
VALUES = ("CAM 6", "Off", "Broadcast", "Best", "On", "10", "16")


def line(text: str, row: int, left: float, shift: float = 0.0) -> Line:
    """A line of characters half as wide as high."""
    right, top = left + len(text) * HIGH / 2, row * PITCH + shift
    quad = ((left, top), (right, top), (right, top + HIGH), (left, top + HIGH))
    places = tuple((n + 0.5) / len(text) for n in range(len(text)))
    return Line(text, (0.99,) * len(text), places, quad, row, left, right, HIGH)


def page(without: frozenset[int], right: bool = False, slant: float = 0.0) -> list[Line]:
    """Rows of labels and values, without the labels of some."""
    lines = []
    for row, (label, value) in enumerate(zip(LABELS, VALUES, strict=True)):
        if row not in without:
            lines.append(line(label, row, 30.0))
        left = 400.0 + slant * row * PITCH
        lines.append(line(value, row, left - (len(value) * HIGH / 2 if right else 0.0)))
    return lines


def matched(lines: list[Line]) -> tuple[PageMatch, tuple[Spot | None, ...], list[float]]:
    fields = tuple(Field(f"x.{n}", label, Text(20)) for n, label in enumerate(LABELS))
    match = match_page(Page("x", "Camera 6", fields), fields, lines)
    levels = [one.quad[0][1] + HIGH / 2 for one in lines]
    return match, value_spots(match, lines), levels


@pytest.mark.parametrize("right", [False, True])
@pytest.mark.parametrize("hidden", [{2}, {1, 2}, {2, 5}, {2, 3, 4}])
def test_a_value_whose_label_is_hidden_is_told_by_its_place(right: bool, hidden: set[int]) -> None:
    lines = page(frozenset(hidden), right)
    match, spots, levels = matched(lines)
    assert {n for n, hit in enumerate(match.hits) if hit is None} == hidden
    columns = value_columns(spots, lines, levels)
    if len(hidden) == 3:
        # One step between known neighbours is too little to know the rows' distance by.
        lines = [one for one in lines if one.row != 6]
    found = placed_spots(match, lines, levels, spots, columns)
    read = {n: lines[spot.pieces[0][0]].text for n, spot in found.items()}
    assert read == {n: VALUES[n] for n in hidden}


def test_rows_outside_the_known_ones_are_not_guessed() -> None:
    lines = page(frozenset({0, 6}))
    match, spots, levels = matched(lines)
    assert placed_spots(match, lines, levels, spots, value_columns(spots, lines, levels)) == {}


def test_a_row_that_this_firmware_does_not_have_is_not_made_up() -> None:
    """Without row 2 its neighbours stand one step apart, not two."""
    lines = [one for one in page(frozenset()) if one.row != 2]
    moved = [line(one.text, one.row - (one.row > 2), one.left) for one in lines]
    match, spots, levels = matched(moved)
    assert match.hits[2] is None
    assert placed_spots(match, moved, levels, spots, value_columns(spots, moved, levels)) == {}


def test_what_does_not_begin_in_the_column_is_no_value() -> None:
    """Of "Saloon" under glare only "oon" shows."""
    lines = page(frozenset({2}))
    cut = [line("oadcast", 2, 420.0) if one.text == "Broadcast" else one for one in lines]
    match, spots, levels = matched(cut)
    assert placed_spots(match, cut, levels, spots, value_columns(spots, cut, levels)) == {}


@given(st.floats(-0.5, 0.5), st.floats(200, 600))
def test_a_slanting_column_is_followed(slant: float, start: float) -> None:
    lines = [
        line(value, row, start + slant * (row * PITCH + HIGH / 2))
        for row, value in enumerate(VALUES)
    ]
    spots = [Spot(((n, 0),), None, False) for n in range(len(lines))]
    levels = [row * PITCH + HIGH / 2 for row in range(len(lines))]
    columns = value_columns(spots, lines, levels)
    assert columns.left == pytest.approx((start, slant), abs=1e-6)
    level = 3 * PITCH
    assert columns.begins(start + slant * level + 0.2 * HIGH, level, HIGH)
    assert not columns.begins(start + slant * level + 0.5 * HIGH, level, HIGH)
    sign = columns.first_sign(level, HIGH)
    assert sign is not None
    assert sign[0] < start + slant * level < sign[1]


def test_centred_values_make_no_column() -> None:
    lines = [
        line(value, row, 400 - len(value) * HIGH / 4)
        for row, value in enumerate(("On", "Overwrite oldest", "60 s", "Broadcast", "None at all"))
    ]
    spots = [Spot(((n, 0),), None, False) for n in range(len(lines))]
    columns = value_columns(spots, lines, [row * PITCH for row in range(len(lines))])
    assert columns == Columns()
    assert columns.first_sign(0.0, HIGH) is None
