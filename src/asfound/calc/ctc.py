"""Connectionist temporal classification: from chances along a line to texts and their likelihoods.

Graves, Fernández, Gomez, Schmidhuber (2006): a path through a lattice names one character or the
blank at each place; a text's likelihood is the sum over all paths that collapse to it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from math import inf

import numpy as np
from numpy.typing import NDArray

Chances = NDArray[np.float32]
"""Places x (1 + characters); column 0 is the blank. Rows add up to 1."""

_FLOOR = 1e-7
"""No chance is taken for smaller: a recogniser's zero is not the world's."""

_PRUNED = 1e-3
"""Characters less likely than this at a place begin no text of a beam."""


def best_path(chances: Chances, alphabet: str) -> tuple[str, tuple[float, ...], tuple[float, ...]]:
    """The text of the likeliest path, each character's strongest chance, and its place (0..1)."""
    best = chances.argmax(axis=1)
    text: list[str] = []
    scores: list[float] = []
    places: list[float] = []
    last = 0
    for place, index in enumerate(best):
        score = float(chances[place, index])
        if index and index == last:
            scores[-1] = max(scores[-1], score)
        elif index:
            text.append(alphabet[index - 1])
            scores.append(score)
            places.append((place + 0.5) / len(best))
        last = int(index)
    return "".join(text), tuple(scores), tuple(places)


def likely_texts(
    chances: Chances, alphabet: str, width: int = 12, allowed: str = ""
) -> list[tuple[str, float]]:
    """Likeliest texts first with the logarithms of their likelihoods, by prefix beam search.

    ``allowed`` limits the characters ("": all of the alphabet).
    """
    usable = np.array([True] + [not allowed or c in allowed for c in alphabet])
    # Of each prefix: chance that a path ends in the blank, and in the last character.
    beams: dict[str, tuple[float, float]] = {"": (1.0, 0.0)}
    scale = 0.0
    for row in chances:
        likely = np.flatnonzero((row > _PRUNED) & usable)
        blank = max(float(row[0]), _FLOOR)
        grown: dict[str, list[float]] = defaultdict(lambda: [0.0, 0.0])
        for prefix, (ended, open_) in beams.items():
            grown[prefix][0] += (ended + open_) * blank
            last = prefix[-1:]
            for index in likely:
                if index == 0:
                    continue
                character, chance = alphabet[index - 1], float(row[index])
                if character == last:
                    grown[prefix][1] += open_ * chance
                    grown[prefix + character][1] += ended * chance
                else:
                    grown[prefix + character][1] += (ended + open_) * chance
        kept = sorted(grown.items(), key=lambda item: -(item[1][0] + item[1][1]))[:width]
        top = kept[0][1][0] + kept[0][1][1]
        scale += np.log(top)
        beams = {prefix: (a / top, b / top) for prefix, (a, b) in kept}
    ranked = [(prefix, a + b) for prefix, (a, b) in beams.items()]
    ranked.sort(key=lambda item: -item[1])
    return [(text, float(np.log(chance) + scale)) for text, chance in ranked if chance > 0]


def likelihoods(
    chances: Chances, alphabet: str, texts: Sequence[str], around: str = "", alike: bool = True
) -> NDArray[np.float64]:
    """Logarithm of each text's likelihood (-inf: more characters than places).

    Spaces count for nothing. Any characters of ``around`` may stand before and after the text.
    ``alike``: capital and small letters count as one. A character outside the alphabet is as
    likely as none.
    """
    merged, columns = _merged(chances, alphabet, alike)
    log = np.log(np.maximum(merged, _FLOOR))
    codes = [[columns.get(_key(c, alike), -1) for c in text if c != " "] for text in texts]
    most = max((len(code) for code in codes), default=0)
    count = len(codes)
    result = np.full(count, -inf)
    free = _around(chances, alphabet, around)
    total = np.cumsum(free)
    for number, code in enumerate(codes):
        if not code:
            result[number] = total[-1]
    if most == 0:
        return result
    # State 2k + 1 is character k, state 2k the blank before it; both ends are free.
    padded = np.zeros((count, most), np.int64)
    for number, code in enumerate(codes):
        padded[number, : len(code)] = code
    unknown = padded < 0
    padded[unknown] = 0
    lengths = np.array([len(code) for code in codes])
    same = np.zeros((count, most), bool)
    same[:, 1:] = padded[:, 1:] == padded[:, :-1]
    chars = np.full((count, most), -inf)
    blanks = np.full((count, most), -inf)
    after = np.full(count, -inf)
    last = np.maximum(lengths - 1, 0)
    rows = np.arange(count)
    for place in range(len(log)):
        emit = log[place, padded]
        emit[unknown] = np.log(_FLOOR)
        before = total[place - 1] if place else 0.0
        skipped = np.full((count, most), -inf)
        skipped[:, 0] = before
        skipped[:, 1:] = np.where(same[:, 1:], -inf, chars[:, :-1])
        skipped[:, 1:] = np.logaddexp(skipped[:, 1:], blanks[:, 1:])
        done = np.logaddexp(after, chars[rows, last]) + free[place]
        stays = np.logaddexp(chars, skipped) + emit
        rest = np.full((count, most), -inf)
        rest[:, 1:] = np.logaddexp(blanks[:, 1:], chars[:, :-1]) + log[place, 0]
        chars, blanks, after = stays, rest, done
    ended = np.logaddexp(after, chars[rows, last])
    filled = lengths > 0
    result[filled] = ended[filled]
    return result


def _key(character: str, alike: bool) -> str:
    return character.casefold()[:1] if alike else character


def _merged(
    chances: Chances, alphabet: str, alike: bool
) -> tuple[NDArray[np.float64], dict[str, int]]:
    """Chances with the space added to the blank and, if ``alike``, letter cases added up."""
    columns: dict[str, int] = {}
    place_of = []
    for character in alphabet:
        key = _key(character, alike)
        if character == " ":
            place_of.append(0)
        else:
            place_of.append(columns.setdefault(key, len(columns) + 1))
    merged = np.zeros((len(chances), len(columns) + 1))
    merged[:, 0] = chances[:, 0]
    for column, place in enumerate(place_of):
        merged[:, place] += chances[:, column + 1]
    return merged, columns


def _around(chances: Chances, alphabet: str, around: str) -> NDArray[np.float64]:
    """Logarithm of the chance that nothing, or a mark, stands at each place."""
    kept = [0] + [n + 1 for n, c in enumerate(alphabet) if c == " " or c in around]
    return np.asarray(np.log(np.maximum(chances[:, kept].sum(axis=1), _FLOOR)))
