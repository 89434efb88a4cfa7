"""What known writing says of free texts, on lines drawn in OpenCV's Hershey fonts."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.drawn_lines import COMPLEX, SIMPLEX, drawn

from asfound.calc.glyphs import CERTAIN, LIKELY
from asfound.calc.known_letters import (
    Letters,
    Pieces,
    letters_of,
    open_space,
    pooled,
    value_pieces,
    verdict,
)

KNOWN = (
    "On Off Overlay",
    "10 200 30",
    "Pulse level",
    "Input IP ID",
    "1100 11",
    "5 fps 25",
    "S S So",
)


def letters(font: int = COMPLEX) -> Letters:
    return pooled([letters_of([drawn(text, font, scale=1.2)], text, text) for text in KNOWN])


def pieces(shown: str, read: str = "", font: int = COMPLEX) -> Pieces:
    return value_pieces([drawn(shown, font)], [(read or shown, read or shown)])


def test_letters_come_from_what_is_known_not_from_what_was_read() -> None:
    pairs = letters_of([drawn("Off")], "0ff", "Off")
    assert [character for character, _ in pairs] == ["O", "f", "f"]
    # A label at the beginning of a line, a value between brackets.
    assert (
        "".join(c for c, _ in letters_of([drawn("Sound: Off")], "Sound: Off", "Sound")) == "Sound"
    )
    assert "".join(c for c, _ in letters_of([drawn("[On]")], "[0n]", "On")) == "On"
    # Another text, or one of which the ink shows something else, teaches nothing.
    assert letters_of([drawn("Input A")], "Input A", "Input B") == ()
    assert letters_of([drawn("Off")], "Of", "Off") == ()
    assert letters_of([drawn("Offf")], "Off", "Off") == ()


@pytest.mark.parametrize("font", [COMPLEX, SIMPLEX])
def test_a_zero_for_an_o_is_ruled_out(font: int) -> None:
    said = verdict(pieces("MOO10", font=font), ["MO010", "M0010", "MOO10"], letters(font))
    assert said.allows("MOO10")
    assert not said.allows("MO010") and not said.allows("M0010") and not said.allows("MOOl0")
    assert said.settles("MOO10")
    assert not said.settles("M0010")


@given(text=st.text("0O1lI5SH", min_size=1, max_size=7), font=st.sampled_from([COMPLEX, SIMPLEX]))
@settings(max_examples=80, deadline=None)
def test_what_stands_there_is_never_ruled_out(text: str, font: int) -> None:
    mixed = text.translate(str.maketrans("0O1lI5S", "O0lI1S5"))
    for read in (text, mixed):
        for rule in (LIKELY, CERTAIN):
            said = verdict(pieces(text, read, font), [text, mixed], letters(font), rule)
            assert said.allows(text)


def test_signs_without_ink_are_ruled_out() -> None:
    said = verdict(pieces("3.4.1"), ["3.4.1"], {})
    assert said.allows("3.4.1") and said.allows("3 . 4.1")
    assert not said.allows("3.41") and not said.allows("3.4.1.")
    # Other letters and figures are another matter: two of them may touch.
    assert said.allows("3.4.11") and said.allows("34.12")
    # With other ink beside it nothing is said of signs.
    crop = drawn("3.4.1 -")
    close = value_pieces([crop, crop[:, :-40]], [("3.4.1", "3.4.1")])
    assert close.signs and not close.whole
    assert verdict(close, ["3.4.1"], {}).allows("3.41")


def test_marks_round_a_value_are_no_part_of_it() -> None:
    found = value_pieces([drawn("[MOO1]")], [("[M001]", "M001")])
    assert len(found.signs) == 4
    said = verdict(found, ["M001"], letters())
    assert not said.allows("M001") and said.allows("MOO1")
    assert value_pieces([drawn("AB")], [("ABC", "ABC")]) == Pieces()
    assert value_pieces([drawn("AB")], [("", "")]) == Pieces()


def test_look_alikes_of_the_same_shape_must_be_known_to_settle() -> None:
    known = {one: glyphs for one, glyphs in letters().items() if one != "O"}
    said = verdict(pieces("M0"), ["M0", "MO"], known)
    assert said.allows("M0") and not said.settles("M0")
    # Read as one character only, B is no 8; read both ways it may be.
    assert verdict(pieces("RB"), ["RB"], {}).settles("RB")
    assert not verdict(pieces("RB"), ["RB", "R8"], {}).settles("RB")
    assert verdict(pieces("M0"), ["M0"], {}).settles("M0", alphabet="M0123456789")


@pytest.mark.parametrize(
    ("shown", "read", "spaced"),
    [
        ("CAM 6", "CAM6", "CAM 6"),
        ("CAM6", "CAM6", None),
        ("CAM 6", "CAM 6", None),
        ("QuayDock", "QuayDock", None),
        ("Quay Dock", "QuayDock", "Quay Dock"),
        ("A 1", "A1", None),
    ],
)
def test_room_for_a_space_is_seen(shown: str, read: str, spaced: str | None) -> None:
    assert open_space(pieces(shown, read), read) == spaced
