"""From text lines to heading and rows. The screens are laid out here, tilted as in a photograph."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.draft_rows import Screen, screen
from asfound.calc.textlines import Line, in_rows, row_slopes

Placed = tuple[str, float, float, float]
"""A text, its left edge, the middle of its row and its height, in pixels."""

TEXT_PX = 40.0


def line(text: str, left: float, middle: float, height: float, tilt: float, score: float) -> Line:
    wide = 0.55 * height * len(text)
    turn = np.array([[np.cos(tilt), -np.sin(tilt)], [np.sin(tilt), np.cos(tilt)]])
    flat = np.array([
        [left, middle - height / 2], [left + wide, middle - height / 2],
        [left + wide, middle + height / 2], [left, middle + height / 2],
    ])  # fmt: skip
    a, b, c, d = (turn @ flat.T).T.tolist()
    places = tuple((at + 0.5) / len(text) for at in range(len(text)))
    return Line(text, (score,) * len(text), places, (tuple(a), tuple(b), tuple(c), tuple(d)))


def seen(placed: list[Placed], tilt: float = 0.0) -> Screen:
    lines = [line(text, left, middle, high, tilt, 0.99) for text, left, middle, high in placed]
    fit = row_slopes(np.array([one.quad for one in lines]))
    return screen(in_rows(lines, fit))


def page(rows: list[tuple[str, str]], column: float = 900.0) -> list[Placed]:
    placed: list[Placed] = [("General", 90.0, 50.0, 44.0), ("Page 3 of 14", 1300.0, 50.0, 40.0)]
    for number, (label, value) in enumerate(rows):
        middle = 150.0 + 80.0 * number
        placed.append((label, 120.0, middle, TEXT_PX))
        if value:
            placed.append((value, column, middle, TEXT_PX))
    return placed


ROWS = [("Time zone", "UTC+1"), ("Speed warning", "80 km/h"), ("Name", ""), ("Sound", "Off")]


def texts(shown: Screen) -> list[tuple[str, str]]:
    return [(row.label.text, row.value.text if row.value else "") for row in shown.rows]


@given(st.floats(-0.12, 0.12))
def test_labels_and_values_of_a_tilted_screen(tilt: float) -> None:
    shown = seen(page(ROWS), tilt)
    assert (shown.heading, shown.number, shown.total) == ("General", 3, 14)
    assert texts(shown) == ROWS


def test_status_line_and_save_row_are_no_rows() -> None:
    placed = page(ROWS)
    placed += [("[ Save ]", 700.0, 480.0, TEXT_PX), ("Two", 90.0, 560.0, 28.0)]
    placed += [("01.03.2026 10:11:12", 1200.0, 560.0, 28.0)]
    shown = seen(placed)
    assert texts(shown) == ROWS
    assert shown.clock == "01.03.2026 10:11:12"


def test_colons_part_labels_from_values() -> None:
    placed: list[Placed] = [("General", 600.0, 50.0, 44.0), ("[03]", 1300.0, 50.0, 40.0)]
    rows = ["Time zone: [ UTC+1 ]", "From: 06:30", "Along (X): 0.7 g", "Input 1: Open", "Name:"]
    placed += [(text, 120.0, 150.0 + 80 * n, TEXT_PX) for n, text in enumerate(rows)]
    shown = seen(placed)
    assert shown.number == 3 and shown.total is None
    assert texts(shown) == [
        ("Time zone", "[ UTC+1 ]"), ("From", "06:30"), ("Along (X)", "0.7 g"),
        ("Input 1", "Open"), ("Name", ""),
    ]  # fmt: skip


def test_dots_part_labels_from_values() -> None:
    placed: list[Placed] = [("General", 90.0, 50.0, 44.0)]
    rows = ["Time zone ........ UTC+1", "Delete after . . . . . 31 days", "Sound……… Off"]
    placed += [(text, 120.0, 150.0 + 80 * n, TEXT_PX) for n, text in enumerate(rows)]
    assert texts(seen(placed)) == [
        ("Time zone", "UTC+1"), ("Delete after", "31 days"), ("Sound", "Off"),
    ]  # fmt: skip


def test_a_row_read_as_one_text_is_cut_at_the_column() -> None:
    placed = page([*ROWS, ("Zone", "UTC")], column=780.0)
    placed.append(("Warning if signal is lost Yes", 120.0, 150.0 + 80.0 * 5, TEXT_PX))
    labels = texts(seen(placed))
    assert labels[-1] in (
        ("Warning if signal is lost", "Yes"),
        ("Warning if signal is lost Yes", ""),
    )


def test_counters() -> None:
    for text, number, total in (
        ("3/14", 3, 14), ("3 of 14", 3, 14), ("p. 7", 7, None), ("No. 7", 7, None),
        ("- 7 -", 7, None), ("07", 7, None), ("Page 7", 7, None),
    ):  # fmt: skip
        shown = seen([("Camera 2", 90.0, 50.0, 44.0), (text, 1300.0, 50.0, 40.0), *page(ROWS)[2:]])
        assert (shown.heading, shown.number, shown.total) == ("Camera 2", number, total), text


def test_the_last_word_of_a_torn_title_stays_with_it() -> None:
    placed = [("Links", 500.0, 50.0, 44.0), ("Cable", 760.0, 50.0, 44.0)]
    shown = seen([*placed, ("(10/15)", 1300.0, 50.0, 40.0), *page(ROWS)[2:]])
    assert (shown.heading, shown.number, shown.total) == ("Links Cable", 10, 15)
    torn = [("Cable", 500.0, 50.0, 44.0), ("Page 2", 1200.0, 50.0, 40.0)]
    shown = seen([*torn, ("of 15", 1400.0, 50.0, 40.0), *page(ROWS)[2:]])
    assert (shown.heading, shown.number, shown.total) == ("Cable", 2, 15)


def test_a_lone_page_number_is_no_title() -> None:
    rows = page(ROWS)[2:]
    shown = seen([("Page 3 of 14", 1300.0, 50.0, 40.0), *rows])
    assert (shown.heading, shown.number) == ("", 3)
    low = seen([("3/14", 1300.0, 20.0, 40.0), ("General", 90.0, 75.0, 44.0), *rows])
    assert (low.heading, low.number) == ("General", 3)
    assert texts(low) == ROWS


def test_nothing_legible_is_an_empty_screen() -> None:
    assert screen([]).rows == ()
    assert screen([line("???", 0, 0, 10, 0.0, 0.2)]).heading == ""


@given(
    st.lists(
        st.tuples(st.text(max_size=20), st.floats(0, 2000), st.floats(0, 1000), st.floats(5, 60)),
        min_size=1,
        max_size=12,
    )
)
def test_any_lines_can_be_looked_at(placed: list[Placed]) -> None:
    kept = [one for one in placed if one[0]]
    if kept:
        seen(kept)
