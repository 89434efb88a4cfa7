"""Readings of the same words added up."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.draft_spelling import Spelling, best_spelling, folded, spellings


def test_spaces_case_and_lone_slips_make_no_difference() -> None:
    read = ["As fitted", "Asfitted", "As fitted", "As fittad", "Mirrored"]
    assert spellings(read) == (Spelling("As fitted", 4), Spelling("Mirrored", 1))
    assert best_spelling(["ab", "a b"]) == "a b"


def test_figures_always_make_a_difference() -> None:
    assert len(spellings(["H.264 Main", "H.264 Main", "H.265 Main"])) == 2
    assert len(spellings(["15 min", "15 min", "10 min"])) == 2


@given(st.lists(st.text(max_size=8), max_size=12))
def test_every_reading_is_counted_once(texts: list[str]) -> None:
    found = spellings(texts)
    assert sum(one.count for one in found) == len(texts)
    assert len({folded(one.text) for one in found}) == len(found)
    assert all(one.text in texts for one in found)
