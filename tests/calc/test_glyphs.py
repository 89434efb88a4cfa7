"""Characters cut from lines and compared, drawn in OpenCV's Hershey fonts (an outside font)."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.drawn_lines import COMPLEX, SIMPLEX, drawn

from asfound.calc.glyphs import (
    CERTAIN,
    Glyph,
    agreeing,
    differences,
    line_pieces,
    ruled_out,
)


def glyphs(text: str, font: int = COMPLEX, *, scale: float = 1.4, blur: float = 0.6) -> list[Glyph]:
    pieces = line_pieces(drawn(text, font, scale=scale, blur=blur), len(text.replace(" ", "")))
    assert pieces is not None
    return [piece.glyph for piece in pieces if piece.glyph is not None]


@pytest.mark.parametrize("dark", [True, False])
@pytest.mark.parametrize("text", ["HD 720", "Pictures: 25", "i.j", "192.168.0.1"])
def test_a_line_falls_into_its_characters(text: str, dark: bool) -> None:
    count = len(text.replace(" ", ""))
    pieces = line_pieces(drawn(text, dark=dark), count)
    assert pieces is not None and len(pieces) == count
    assert all(one.left < other.left for one, other in pairwise(pieces))


def test_what_does_not_fall_into_as_many_pieces_is_left_alone() -> None:
    assert line_pieces(drawn("HD720"), 4) is None
    assert line_pieces(drawn("HD720", apart=0, blur=2.0), 5) is None  # they touch
    assert line_pieces(drawn("HD720"), 0) is None
    assert line_pieces(np.full((40, 200, 3), 128, np.uint8), 3) is None  # nothing written
    assert line_pieces(np.full((40, 200, 3), 255, np.uint8), 1) is None


@given(
    text=st.text("ABDEGHKOSZ0123568abdegko", min_size=1, max_size=8),
    scale=st.floats(0.8, 2.5),
    blur=st.floats(0.3, 1.2),
)
@settings(max_examples=40, deadline=None)
def test_the_same_character_looks_the_same_at_any_size(
    text: str, scale: float, blur: float
) -> None:
    for one, other in zip(glyphs(text), glyphs(text, scale=scale, blur=blur), strict=True):
        assert differences(one, [other])[0] < 0.07


@pytest.mark.parametrize("font", [COMPLEX, SIMPLEX])
@pytest.mark.parametrize(("shown", "other"), ["0O", "O0", "5S", "8B", "2Z", "1l", "6G"])
def test_known_characters_tell_what_is_seen(font: int, shown: str, other: str) -> None:
    known = {
        one: glyphs(one * 3, font, scale=1.1) + glyphs(one, font, blur=0.9)
        for one in (shown, other)
    }
    (seen,) = glyphs(shown, font)
    assert shown not in ruled_out(seen, known)
    assert other in ruled_out(seen, known)


def test_characters_drawn_alike_are_not_told_apart() -> None:
    """A font may draw l and I as the same stroke: here both are the I."""
    strokes = glyphs("III")
    assert not ruled_out(strokes[0], {"l": strokes[1:], "I": strokes[:2]})
    assert not ruled_out(strokes[0], {"l": strokes[1:], "I": strokes[:2]}, CERTAIN)


def test_nothing_is_ruled_out_by_what_is_unlike_everything() -> None:
    (seen,) = glyphs("W")
    assert not ruled_out(seen, {"0": glyphs("00"), "O": glyphs("OO")})
    assert not ruled_out(seen, {})
    # One picture alone may be spoilt.
    (zero,) = glyphs("0")
    assert not ruled_out(zero, {"0": glyphs("0"), "O": glyphs("O")})


def test_a_pair_that_no_font_draws_alike_needs_one_of_the_two() -> None:
    (five, letter) = glyphs("5S")
    known = {"5": glyphs("555")}
    assert ruled_out(five, known) == {"S"}
    assert not ruled_out(letter, known)
    # Of an O that was never seen, a zero says nothing.
    assert not ruled_out(glyphs("0")[0], {"0": glyphs("000")})


def test_pictures_that_agree_with_none_are_left_out() -> None:
    good, odd = glyphs("AAA"), glyphs("W")
    assert len(agreeing([*good, *odd])) == 3
    assert agreeing([*glyphs("A"), *odd]) == ()
    assert agreeing(good[:1]) == ()
    assert agreeing([]) == ()
