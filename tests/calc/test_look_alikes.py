"""Look-alike characters. Which ones look alike is common knowledge, no source; EUI-48 is written
in hexadecimal by IEEE 802."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.look_alikes import TWINS, folded, is_code, open_character, other_spellings


def clear(text: str) -> tuple[float, ...]:
    return (1.0,) * len(text)


@pytest.mark.parametrize(
    "text", ["081OO8S", "TR-07BHNTI", "node1", "0ctad", "cl0ud", "066O", "0660", "1l", "AlI", "Ill"]
)
def test_a_letter_that_may_be_a_figure_is_named(text: str) -> None:
    assert open_character(text, clear(text)) in TWINS


@pytest.mark.parametrize(
    "text",
    ["Offside", "Door rear", "Input", "Load bay", "12", "2026-03-17 09:41", "CAM 1", "Bill",
     "29:77:63:4A:45:0E", ""],
)  # fmt: skip
def test_ordinary_words_and_numbers_are_not_open(text: str) -> None:
    assert open_character(text, clear(text)) == ""


def test_an_alphabet_without_the_twin_settles_it() -> None:
    assert open_character("0118", clear("0118"))
    assert open_character("0118", clear("0118"), "0123456789 ") == ""


def test_a_weak_score_opens_what_differs_more() -> None:
    assert open_character("A8X4", (1.0, 1.0, 1.0, 1.0)) == ""
    assert open_character("A8X4", (1.0, 0.9, 1.0, 1.0)) == "8"


def test_letters_are_offered_for_figures() -> None:
    assert "Octad" in other_spellings("0ctad")
    assert "Offside" in other_spellings("0ffside")
    assert "10" in other_spellings("1O")
    assert other_spellings("Cab") == ()


@given(st.text("ABCol10OI58SBz2Z ", max_size=12))
def test_other_spellings_look_like_the_text(text: str) -> None:
    assert all(folded(one) == folded(text) and one != text for one in other_spellings(text))


def test_a_name_with_a_number_says_itself_what_is_meant() -> None:
    strong = (0.99,) * 6
    assert open_character("bus217", strong) == ""
    assert open_character("bus127", strong) == "1", "where name and number meet it stays open"
    assert open_character("QB04", strong[:4]) == "0"
    assert open_character("lol117", strong) != "", "a run without an unmistakable character"


@pytest.mark.parametrize(
    ("text", "code"),
    [("2SO61", True), ("626", True), ("Bay 608", True), ("Ill Bell", False), ("Depot 5", False),
     ("2026-06-12", False), ("TR-07", False), ("", False), ("SIGS", True), ("SOS", False),
     ("solo", False)],
)  # fmt: skip
def test_codes_of_look_alikes(text: str, code: bool) -> None:
    assert is_code(text) is code
