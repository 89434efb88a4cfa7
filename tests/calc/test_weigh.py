"""Weighing on lattices made by hand: which value must win, and by how much, follows from the
chances written into them (odds: natural logarithms of their ratios)."""

from __future__ import annotations

from collections.abc import Mapping
from math import log

import numpy as np
import pytest
from numpy.typing import NDArray

from asfound.calc.weigh import Weighed, emptiness, weigh_listed, weigh_open

ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz .:-/*[]<>◄►■…"

Crop = tuple[NDArray[np.float32], str]


def crop(text: str, unsure: Mapping[int, Mapping[str, float]] | None = None) -> Crop:
    """Two places for each character and one of blank after it; ``unsure``: other characters that
    may stand at a position, and their chances."""
    rows = [_row({})]
    for position, character in enumerate(text):
        rivals = dict((unsure or {}).get(position, {}))
        seen = {character: 0.98 - sum(rivals.values()), **rivals}
        rows += [_row(seen), _row(seen), _row({})]
    return np.array(rows, np.float32), ALPHABET


def _row(seen: Mapping[str, float]) -> NDArray[np.float32]:
    row = np.full(len(ALPHABET) + 1, 1e-6)
    for character, chance in seen.items():
        row[ALPHABET.index(character) + 1] = chance
    row[0] = 1.0 - row[1:].sum()
    return np.asarray(row, dtype=np.float32)


LEVELS = {"Low": "low", "High": "high", "Medium": "medium", "Log": "log"}


@pytest.mark.parametrize("text", LEVELS)
def test_the_value_that_is_shown_wins(text: str) -> None:
    got = weigh_listed([crop(text)], LEVELS)
    assert (got.value, got.text) == (LEVELS[text], text)
    assert got.margin > 5 and got.least == pytest.approx(got.margin)
    assert got.gap == pytest.approx(0.0, abs=1e-6)


def test_the_margin_falls_when_two_values_are_alike() -> None:
    sure = weigh_listed([crop("Low")], LEVELS)
    unsure = weigh_listed([crop("Low", {2: {"g": 0.4}})], LEVELS)
    assert unsure.value == "low" and unsure.rivals[0] == "log"
    # Two places show w with 0.58 and g with 0.40: either is read at one of them or at both, the
    # blank (0.02) at the other.
    w, g, blank = 0.58, 0.40, 0.02
    odds = log((w * w + 2 * w * blank) / (g * g + 2 * g * blank))
    assert unsure.margin == pytest.approx(odds, abs=0.02)
    assert sure.margin > unsure.margin + 5


def test_the_gap_is_large_when_no_listed_value_is_shown() -> None:
    got = weigh_listed([crop("Vivid")], LEVELS)
    assert got.gap > 10


def test_the_least_margin_is_that_of_the_least_sure_crop() -> None:
    clear, vague = crop("Low"), crop("Low", {2: {"g": 0.4}})
    got = weigh_listed([clear, vague], LEVELS)
    alone = [weigh_listed([one], LEVELS).margin for one in (clear, vague)]
    assert got.least == pytest.approx(min(alone))
    assert got.margin == pytest.approx(sum(alone) / 2)


def test_crops_that_contradict_each_other_leave_the_least_below_nothing() -> None:
    got = weigh_listed([crop("Low"), crop("Log", {2: {"w": 0.3}})], LEVELS)
    assert got.value == "low"
    assert got.least < 0


def test_texts_of_one_value_are_no_rivals() -> None:
    got = weigh_listed([crop("25 fps")], {"25 fps": "25", "25": "25", "26 fps": "26"})
    assert got.value == "25" and got.text == "25 fps"
    assert "25" not in got.rivals


def test_letter_case_and_spaces_do_not_matter_for_listed_values() -> None:
    got = weigh_listed([crop("LO W")], LEVELS)
    assert got.value == "low" and got.margin > 5 and got.gap == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("shown", ["◄ Low ►", "[Low]", "<Low>", "Low ……", ": Low", "■ Low"])
def test_marks_around_are_absorbed(shown: str) -> None:
    got = weigh_listed([crop(shown)], LEVELS)
    assert got.value == "low" and got.margin > 5
    assert got.gap == pytest.approx(0.0, abs=0.01)


def test_free_text_keeps_its_letter_case() -> None:
    shown = crop("gate.Kp7", {5: {"k": 0.3}})
    got = weigh_open([shown], lambda text: text)
    assert got.value == "gate.Kp7"
    assert "gate.kp7" in got.rivals and got.margin < 2
    # Where the case does not matter the two are equally likely; what the crop shows comes first.
    either = weigh_open([shown], lambda text: text, exact=False)
    assert either.value == "gate.Kp7" and either.margin == pytest.approx(0.0, abs=1e-6)


def test_drawings_round_free_text_are_absorbed_but_brackets_belong_to_it() -> None:
    assert weigh_open([crop("◄ Bus7 ►")], lambda text: text).value == "Bus7"
    assert weigh_open([crop("[Bus7]")], lambda text: text).value == "[Bus7]"


def test_only_texts_that_make_a_value_are_weighed() -> None:
    def number(text: str) -> str | None:
        return text if text.isdigit() else None

    got = weigh_open([crop("1O5", {1: {"0": 0.2}})], number, exact=False)
    # "1O5" is likelier, but no number: the gap says by how much.
    assert got.value == "105" and got.gap > 1
    assert weigh_open([crop("abc")], number) == Weighed(None)


def test_only_allowed_characters_are_read() -> None:
    got = weigh_open([crop("1O5", {1: {"0": 0.2}})], lambda text: text, allowed="0123456789")
    assert got.value == "105"


def test_texts_given_besides_are_weighed_too() -> None:
    got = weigh_open([crop("Bus7")], lambda text: text, others=["Bus 9"])
    assert got.value == "Bus7"
    # A text that the crop does not show at all is no rival.
    assert "Bus 9" not in got.rivals


def test_texts_that_differ_by_spaces_are_one_as_the_first_crop_shows_it() -> None:
    got = weigh_open([crop("Bus 7"), crop("Bus7")], lambda text: text)
    assert got.value == "Bus 7"
    assert "Bus7" not in got.rivals


def test_emptiness() -> None:
    empty, full = crop(""), crop("Low")
    assert emptiness([empty]) > 0.99
    assert emptiness([full]) < 0.01
    # The least over the crops: one that shows something is enough.
    assert emptiness([empty, full]) == emptiness([full])
    assert emptiness([]) == 0.0
