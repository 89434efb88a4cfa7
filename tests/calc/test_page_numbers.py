"""Page numbers of made-up menus: when they may be believed, and which page they tell."""

from __future__ import annotations

import pytest
from tests.calc.test_match_page import MAP, ROWS, line, screen

from asfound.calc.page_numbers import is_numbered, numbered, page_numbers
from asfound.calc.pick_page import pick_page

RIVALS = pick_page(MAP, None, screen("?", ROWS)).rivals


@pytest.mark.parametrize(
    ("texts", "found"),
    [
        (("07",), {7}),
        (("p. 7",), {7}),
        (("#12",), {12}),
        (("Page 3",), {3}),
        (("Settings", "7"), {7}),
        (("3/14",), set()),  # a counter says more; it is read elsewhere
        (("0",), set()),
        (("Camera 6",), set()),  # a title
        (("17:45",), set()),
        ((), set()),
    ],
)
def test_numbers_above_the_first_label(texts: tuple[str, ...], found: set[int]) -> None:
    top = [line(text, 0, 10 + 200 * at) for at, text in enumerate(texts)]
    lines = [*top, *screen("", ROWS)[1:], line("99", 9, 10)]
    assert page_numbers(lines, pick_page(MAP, None, lines).rivals) == found
    faint = [line(text, 0, 10 + 200 * at, 0.5) for at, text in enumerate(texts)]
    lines = [*faint, *lines[len(texts) :]]
    assert page_numbers(lines, pick_page(MAP, None, lines).rivals) == set()


def test_a_menu_counts_as_numbered_when_its_told_pages_agree() -> None:
    two, three = ("camera-2", frozenset({2})), ("camera-3", frozenset({3, 9}))
    assert is_numbered(MAP, None, [two, three])
    assert is_numbered(MAP, None, [two, three, ("power", frozenset())])
    assert not is_numbered(MAP, None, [two, two])  # one page proves little
    assert not is_numbered(MAP, None, [two, three, ("power", frozenset({1}))])
    assert not is_numbered(MAP, None, [])


def test_the_number_tells_a_page_only_when_one_fits() -> None:
    assert numbered(MAP, None, RIVALS, frozenset({7})) == "camera-7"
    assert numbered(MAP, None, RIVALS, frozenset({7, 99})) == "camera-7"
    assert numbered(MAP, None, RIVALS, frozenset({6, 7})) is None
    assert numbered(MAP, None, RIVALS, frozenset({99})) is None
    assert numbered(MAP, None, RIVALS, frozenset()) is None
    # Places are counted among the pages that the firmware shows.
    assert numbered(MAP, "2", RIVALS, frozenset({7})) == "camera-7"
