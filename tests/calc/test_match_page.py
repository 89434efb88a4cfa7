"""Pages, labels and values found among lines. Menus here are made up for these tests."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.match_page import counters, find_label, match_page, title_score
from asfound.calc.parse_value import Parsed
from asfound.calc.pick_page import by_number, pick_page
from asfound.calc.textlines import Line
from asfound.calc.value_spots import joined, piece_box, piece_text, value_spots
from asfound.calc.wrapping import common_marks, unwrapped
from asfound.model.kinds import Level, Switch, Text
from asfound.model.menu_map import Field, Keys, MenuMap, Page

KEYS = Keys("flat", "U", "D", "L", "R", "OK", "B", "-", "+", "N", "P")


def camera(number: int) -> Page:
    return Page(
        f"camera-{number}",
        f"Camera {number}",
        (
            Field(f"camera-{number}.name", "Name", Text()),
            Field(f"camera-{number}.on", "Record", Switch()),
            Field(f"camera-{number}.bright", "Brightness", Level(0, 9)),
        ),
    )


POWER = Page(
    "power",
    "Power",
    (
        Field("power.delay", "Start delay", Level(0, 9)),
        Field("power.heat", "Drive heater", Switch()),
        Field("power.old", "Fan", Switch(), until="2"),
    ),
)
MAP = MenuMap("m", "M", "M", 12, ("1", "2"), (*(camera(n) for n in range(1, 13)), POWER), KEYS)


def line(text: str, row: int, left: float, score: float = 1.0) -> Line:
    """A line 20 pixels high at 10 pixels a character."""
    right, top = left + 10 * len(text), 30.0 * row
    box = ((left, top), (right, top), (right, top + 20), (left, top + 20))
    places = tuple((i + 0.5) / max(len(text), 1) for i in range(len(text)))
    return Line(text, (score,) * len(text), places, box, row, left, right, 20.0)


def screen(title: str, rows: list[tuple[str, str]], score: float = 1.0) -> list[Line]:
    lines = [line(title, 0, 10, score)]
    for number, (label, value) in enumerate(rows, start=1):
        lines.append(line(label, number, 10))
        if value:
            lines.append(line(value, number, 300))
    return lines


CAMERA_ROWS = [("Name", "Cab"), ("Record", "On"), ("Brightness", "7")]


@given(st.integers(1, 12))
def test_alike_pages_are_told_by_their_number(number: int) -> None:
    pick = pick_page(MAP, "2", screen(f"Camera {number}", CAMERA_ROWS))
    assert pick.match is not None and pick.match.page.id == f"camera-{number}"


def test_a_page_number_beside_the_title_is_not_part_of_it() -> None:
    lines = [line("Camera 1", 0, 10), line("2", 0, 400), *screen("", CAMERA_ROWS)[1:]]
    pick = pick_page(MAP, "2", lines)
    assert pick.match is not None and pick.match.page.id == "camera-1"


def test_a_title_torn_in_two_is_one_title() -> None:
    lines = [line("Camera", 0, 10), line("1", 0, 75), line("2", 0, 88)]
    pick = pick_page(MAP, "2", [*lines, *screen("", CAMERA_ROWS)[1:]])
    assert pick.match is not None and pick.match.page.id == "camera-12"


@pytest.mark.parametrize("title", ["Camera", "Camara 3", "Camera 13", "xyz"])
def test_a_title_that_does_not_decide_is_no_page(title: str) -> None:
    pick = pick_page(MAP, "2", screen(title, CAMERA_ROWS))
    assert pick.match is None
    assert "could be any of" in pick.note and len(pick.rivals) == 12


def test_a_faint_number_does_not_decide() -> None:
    assert pick_page(MAP, "2", screen("Camera 3", CAMERA_ROWS, score=0.6)).match is None


def test_a_counter_decides_where_the_title_is_hidden() -> None:
    pick = pick_page(MAP, "2", screen("4/13", CAMERA_ROWS))
    assert pick.match is not None and pick.match.page.id == "camera-4"
    torn = [line("Camera 5", 0, 10), line("4/13", 0, 300), *screen("", CAMERA_ROWS)[1:]]
    assert pick_page(MAP, "2", torn).match is None


def test_nothing_and_nothing_known() -> None:
    assert "no text" in pick_page(MAP, "2", []).note
    assert "right map" in pick_page(MAP, "2", screen("Menu", [("Colour", "Red")])).note


def test_rows_of_the_firmware_are_looked_for() -> None:
    rows = [("Start delay", "3"), ("Drive heater", "On")]
    new = pick_page(MAP, "2", screen("Power", rows)).match
    old = pick_page(MAP, "1", screen("Power", [*rows, ("Fan", "Off")])).match
    assert new is not None and [field.id for field in new.fields] == ["power.delay", "power.heat"]
    assert old is not None and all(hit is not None for hit in old.hits)


def test_labels_are_matched_in_row_order_and_with_slips() -> None:
    rows = [("Star1 delay", "3"), ("Drive heatr", "On"), ("Fan", "Off")]
    match = match_page(POWER, POWER.fields, screen("Power", rows))
    assert [hit is not None and hit.start for hit in match.hits] == [1, 3, 5]
    swapped = match_page(POWER, POWER.fields, screen("Power", rows[::-1]))
    assert sum(hit is not None for hit in swapped.hits) == 1


def test_a_label_and_its_value_in_one_line() -> None:
    lines = [line("Start delay: 3", 0, 10), line("Drive heater ..... On", 1, 10)]
    match = match_page(POWER, POWER.fields[:2], lines)
    spots = value_spots(match, lines)
    texts = [joined([piece_text(lines[i], at) for i, at in s.pieces])[0] for s in spots if s]
    assert texts == ["3", "On"]
    box = piece_box(lines[0], 12)
    assert lines[0].right - 25 < box[0][0] < lines[0].right - 5


def test_values_under_their_labels() -> None:
    lines = [
        line("Start delay", 0, 10), line("3", 1, 12), line("Drive heater", 2, 10),
        line("On", 3, 12), line("Fan", 4, 10), line("Off", 5, 12),
    ]  # fmt: skip
    match = match_page(POWER, POWER.fields, lines)
    assert [s.pieces if s else None for s in value_spots(match, lines)] == [
        ((1, 0),), ((3, 0),), ((5, 0),)
    ]  # fmt: skip


def test_two_columns_of_label_and_value() -> None:
    lines = [
        line("Start delay", 0, 10), line("3", 0, 150), line("Drive heater", 0, 300),
        line("On", 0, 450), line("Fan", 1, 10), line("Off", 1, 150),
    ]  # fmt: skip
    match = match_page(POWER, POWER.fields, lines)
    assert [s.pieces if s else None for s in value_spots(match, lines)] == [
        ((1, 0),), ((3, 0),), ((5, 0),)
    ]  # fmt: skip


def test_an_empty_row_has_a_gap_and_a_drawing_is_noise() -> None:
    lines = [*screen("Power", [("Start delay", ""), ("Drive heater", "On")])]
    lines.insert(2, line("|||", 1, 300, score=0.2))
    spot = value_spots(match_page(POWER, POWER.fields[:2], lines), lines)[0]
    assert spot is not None and spot.noise and spot.gap is not None and not spot.pieces
    assert 120 < spot.gap[0] < 130 and spot.gap[1] > 300


def test_pieces() -> None:
    assert find_label("Name", [line("Frame", 0, 0)], 0) is None
    assert title_score("Camera 1", [line("Camera 12", 0, 0)]) == 0.0
    assert counters([line("Page 3 of 13", 0, 0), line("1/2 HD 720 and a long line", 1, 0)]) == {
        (3, 13)
    }
    marks = common_marks([Parsed("on", (), ("[", "]"))] * 2 + [Parsed("3", (), ("", ""))])
    assert unwrapped("[ Cab ]", (1.0,) * 7, marks) == ("Cab", (1.0,) * 3)
    assert unwrapped("[Cab", (1.0,) * 4, marks) == ("[Cab", (1.0,) * 4)


ROWS = [("Name", "Cab"), ("Record", "On"), ("Brightness", "4")]


@pytest.mark.parametrize(
    ("titles", "page"),
    [
        (("Canera 2", "Camora 2"), "camera-2"),
        (("mera 12", "Camera 12"), "camera-12"),
        (("Canera 2", "Camera 3"), None),  # they read different numbers
        (("Canera 2", "Camera Z"), None),
        (("Chhhra 2", "Camera 2"), None),  # too many letters read otherwise
        (("Camera", "Camera"), None),
        (("Canera 13", "Canera 13"), None),  # no such page
    ],
)
def test_a_title_read_badly_still_has_its_number(titles: tuple[str, str], page: str | None) -> None:
    readings = [screen(title, ROWS) for title in titles]
    # A score below the one a title needs, so that only the two together can tell.
    faint = [[replace(readings[0][0], scores=(0.1,) * 8), *readings[0][1:]], readings[1]]
    rivals = pick_page(MAP, None, screen("?", ROWS)).rivals
    assert len(rivals) == 12
    found = by_number(rivals, readings)
    assert (found.page.id if found else None) == page
    if len(titles[0]) == 8:
        assert by_number(rivals, faint) is None  # its figure is uncertain
    assert by_number((), readings) is None
    assert by_number(rivals, ()) is None
