"""Likelihoods and beam search against the definition, summed over every path of small lattices.

Reference: Graves, Fernández, Gomez, Schmidhuber, "Connectionist Temporal Classification",
ICML 2006, section 3: p(l|x) is the sum, over all paths that collapse to l (repeats first made
one, then blanks removed), of the product of the chances along the path.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from itertools import groupby, product
from math import exp, inf, prod

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asfound.calc.ctc import Chances, best_path, likelihoods, likely_texts


def lattice(rows: Sequence[Sequence[float]]) -> Chances:
    table = np.array(rows, np.float64)
    return np.asarray(table / table.sum(axis=1, keepdims=True), dtype=np.float32)


@st.composite
def lattices(draw: st.DrawFn, characters: int, most: int = 5) -> Chances:
    """Up to ``most`` places; no chance so small that a floor or a beam's pruning touches it."""
    row = st.lists(st.integers(1, 30), min_size=characters + 1, max_size=characters + 1)
    return lattice(draw(st.lists(row, min_size=1, max_size=most)))


def paths(chances: Chances, alphabet: str) -> list[tuple[str, float]]:
    """Every path, the blank written "_", with its chance."""
    symbols = "_" + alphabet
    return [
        ("".join(symbols[i] for i in path), prod(float(chances[n, i]) for n, i in enumerate(path)))
        for path in product(range(len(symbols)), repeat=len(chances))
    ]


def collapsed(path: str) -> str:
    return "".join(symbol for symbol, _ in groupby(path) if symbol != "_")


def all_texts(chances: Chances, alphabet: str) -> dict[str, float]:
    found: dict[str, float] = defaultdict(float)
    for path, chance in paths(chances, alphabet):
        found[collapsed(path)] += chance
    return found


def test_two_places_by_hand() -> None:
    # Paths of "a": aa, a_, _a: 0.36 + 0.24 + 0.24; of nothing: __: 0.16.
    chances = lattice([[0.4, 0.6], [0.4, 0.6]])
    got = np.exp(likelihoods(chances, "a", ["a", "", "aa"]))
    assert got == pytest.approx([0.84, 0.16, 0.0], abs=1e-6)


def test_a_double_letter_needs_a_blank_between() -> None:
    chances = lattice([[0.1, 0.9], [0.7, 0.3], [0.2, 0.8]])
    # One path only: a_a.
    assert exp(likelihoods(chances, "a", ["aa"])[0]) == pytest.approx(0.9 * 0.7 * 0.8, rel=1e-5)


@given(lattices(characters=2))
def test_likelihoods_are_sums_over_paths(chances: Chances) -> None:
    texts = ["", "a", "b", "ab", "ba", "aa", "abb", "aab", "bab", "ababa"]
    truth = all_texts(chances, "ab")
    got = np.exp(likelihoods(chances, "ab", texts, alike=False))
    assert got == pytest.approx([truth.get(text, 0.0) for text in texts], rel=1e-4, abs=1e-9)


@given(lattices(characters=2, most=4))
def test_all_texts_together_are_certain(chances: Chances) -> None:
    texts = ["".join(t) for n in range(len(chances) + 1) for t in product("ab", repeat=n)]
    assert np.exp(likelihoods(chances, "ab", texts)).sum() == pytest.approx(1.0, abs=1e-4)


@given(lattices(characters=3, most=4))
def test_spaces_count_as_blank(chances: Chances) -> None:
    truth: dict[str, float] = defaultdict(float)
    for path, chance in paths(chances, "a b"):
        truth[collapsed(path.replace(" ", "_"))] += chance
    got = np.exp(likelihoods(chances, "a b", ["a b", "ab", " a", "a a", " "]))
    expected = [truth["ab"], truth["ab"], truth["a"], truth["aa"], truth[""]]
    assert got == pytest.approx(expected, rel=1e-4, abs=1e-9)


@given(lattices(characters=3, most=4))
def test_letter_cases_count_as_one_when_alike(chances: Chances) -> None:
    truth: dict[str, float] = defaultdict(float)
    for path, chance in paths(chances, "aAb"):
        truth[collapsed(path.replace("A", "a"))] += chance
    got = np.exp(likelihoods(chances, "aAb", ["ab", "AB", "Ab", "a"]))
    assert got == pytest.approx([truth["ab"]] * 3 + [truth["a"]], rel=1e-4, abs=1e-9)
    apart = all_texts(chances, "aAb")
    exact = np.exp(likelihoods(chances, "aAb", ["ab", "Ab"], alike=False))
    assert exact == pytest.approx([apart.get("ab", 0), apart.get("Ab", 0)], rel=1e-4, abs=1e-9)


@given(lattices(characters=3, most=4))
def test_marks_around_are_passed_over(chances: Chances) -> None:
    """Before the first and after the last character of the text marks are as good as blanks;
    between its characters they are not."""
    truth: dict[str, float] = defaultdict(float)
    for path, chance in paths(chances, "ab<"):
        truth[collapsed(path.strip("_<"))] += chance
    texts = ["", "a", "ab", "aa", "b"]
    got = np.exp(likelihoods(chances, "ab<", texts, around="<"))
    assert got == pytest.approx([truth[text] for text in texts], rel=1e-4, abs=1e-9)


def test_what_does_not_fit() -> None:
    chances = lattice([[1, 1], [1, 1]])
    none, unknown, known = likelihoods(chances, "a", ["aaaaa", "ß", "a"])
    assert none == -inf
    assert -inf < unknown < known - 10
    assert likelihoods(chances, "a", []).shape == (0,)


@given(lattices(characters=3, most=4))
@settings(max_examples=40)
def test_a_wide_beam_finds_the_likeliest_text(chances: Chances) -> None:
    truth = all_texts(chances, "ab ")
    found = likely_texts(chances, "ab ", width=1000)
    text, log = found[0]
    assert truth[text] == pytest.approx(max(truth.values()), rel=1e-4)
    assert exp(log) == pytest.approx(truth[text], rel=1e-4)
    assert [log for _, log in found] == sorted((log for _, log in found), reverse=True)
    assert dict(found).keys() == truth.keys()


@given(lattices(characters=3, most=4))
@settings(max_examples=40)
def test_a_beam_keeps_to_the_allowed_characters(chances: Chances) -> None:
    truth = {t: p for t, p in all_texts(chances, "abc").items() if set(t) <= set("ac")}
    text, log = likely_texts(chances, "abc", 1000, allowed="ac")[0]
    assert truth[text] == pytest.approx(max(truth.values()), rel=1e-4)
    # Paths through a character that is not allowed count for no text.
    assert exp(log) == pytest.approx(truth[text], rel=1e-4)


def test_the_best_path_is_not_always_the_best_text() -> None:
    # Graves et al. 2006, section 3.2: best path decoding may miss the most probable labelling.
    chances = lattice([[0.6, 0.4], [0.6, 0.4]])
    assert best_path(chances, "a")[0] == ""
    assert likely_texts(chances, "a")[0][0] == "a"


def test_best_path_collapses_repeats() -> None:
    rows = ["a", "a", "_", "a", "b", "b", "_"]
    chances = lattice([[0.9 if s == k else 0.05 for k in "_ab"] for s in rows])
    chances[1] = (0.2, 0.7, 0.1)
    text, scores, places = best_path(chances, "ab")
    assert text == "aab"
    assert scores == pytest.approx((0.9, 0.9, 0.9), abs=1e-6)
    # Where each character begins: the middle of places 0, 3 and 4 of 7.
    assert places == pytest.approx((0.5 / 7, 3.5 / 7, 4.5 / 7))


@given(lattices(characters=2))
def test_best_path_follows_the_likeliest_symbols(chances: Chances) -> None:
    path = "".join("_ab"[int(i)] for i in chances.argmax(axis=1))
    text, scores, places = best_path(chances, "ab")
    assert text == collapsed(path)
    assert len(text) == len(scores) == len(places)
    assert list(places) == sorted(places)
