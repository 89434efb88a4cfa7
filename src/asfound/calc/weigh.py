"""Weigh the values a field may have against what a recogniser sees, character by character."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from asfound.calc.ctc import best_path, likelihoods, likely_texts

AROUND = "◄►■…[]<>{}()|*.:_-= "
"""What menus draw round values whose form is known."""

DRAWN = "◄►■…"
"""Drawings only: round free text anything else may belong to it."""

_FAR = 12.0
"""A text that one crop does not show at all counts as this much less likely than its best."""


@dataclass(frozen=True, slots=True)
class Weighed:
    """The likeliest value and how sure the picture makes it, in natural logarithms of odds.

    ``margin``: ahead of the next value, mean over the crops; ``least``: in the crop where it is
    least ahead; ``gap``: by how much the best text without any rule is likelier (0: the same
    text), in the crop where it fits best. ``text`` is as shown; ``rivals``: other values,
    likeliest first.
    ``empty``: the chance, 0..1, that nothing at all stands there.
    """

    value: str | None
    text: str = ""
    margin: float = 0.0
    least: float = 0.0
    gap: float = 0.0
    rivals: tuple[str, ...] = ()
    empty: float = 0.0


def weigh_listed(
    crops: Sequence[tuple[NDArray[np.float32], str]], texts: Mapping[str, str]
) -> Weighed:
    """The likeliest of the listed ``texts`` (text -> value) over several crops (chances and their
    alphabet)."""
    names = list(texts)
    around = _around(names, AROUND)
    per_crop = [likelihoods(chances, alphabet, names, around) for chances, alphabet in crops]
    free = [
        _free(chances, alphabet, best_path(chances, alphabet)[0].strip(around), around)
        for chances, alphabet in crops
    ]
    return _ranked(names, per_crop, free, texts.get)


def weigh_open(
    crops: Sequence[tuple[NDArray[np.float32], str]],
    value_of: Callable[[str], str | None],
    others: Sequence[str] = (),
    allowed: str = "",
    exact: bool = True,
    may_be: Callable[[str], bool] = lambda _text: True,
) -> Weighed:
    """The likeliest text that ``value_of`` makes a value of, from what the crops show.

    ``others``: texts to weigh besides. ``may_be``: False for texts that are known not to stand
    there; they count neither as values nor as what the crops show. ``allowed`` limits the
    characters. ``exact``: letter cases and what stands around matter (free text). Texts that differ
    by spaces alone are weighed as one, written as the first crop shows it.
    """
    around = DRAWN if exact else AROUND
    beams = [likely_texts(chances, alphabet, 12, allowed) for chances, alphabet in crops]
    seen = [beam[0][0] for beam in beams if beam]
    texts: dict[str, str] = {}
    for text in (*seen, *others, *(text for beam in beams for text, _ in beam)):
        bare = " ".join(text.strip(around + " ").split())
        value = value_of(bare) if may_be(bare) else None
        if value is not None:
            texts.setdefault(bare, value)
    if not texts:
        return Weighed(None)
    spaced: dict[str, str] = {}
    for value in texts.values():
        spaced.setdefault("".join(value.split()), value)
    names = list(texts)
    around = _around(names, around)
    per_crop = [
        likelihoods(chances, alphabet, names, around, alike=not exact)
        for chances, alphabet in crops
    ]
    free = []
    for (chances, alphabet), beam in zip(crops, beams, strict=True):
        text = best_path(chances, alphabet)[0].strip(around)
        if not may_be(text):
            possible = (one.strip(around) for one, _ in beam)
            text = next((one for one in possible if may_be(one)), text)
        free.append(_free(chances, alphabet, text, around, alike=not exact))
    return _ranked(names, per_crop, free, lambda text: spaced["".join(texts[text].split())])


def _around(names: Sequence[str], marks: str) -> str:
    """The marks with which no text begins or ends: a minus is no mark where values may have one."""
    ends = {end for name in names for end in (name[:1], name[-1:])}
    return "".join(mark for mark in marks if mark not in ends)


def emptiness(crops: Sequence[tuple[NDArray[np.float32], str]]) -> float:
    """The least chance, over the crops, that no character stands there."""
    return min(
        (float(np.exp(likelihoods(chances, alphabet, [""])[0])) for chances, alphabet in crops),
        default=0.0,
    )


def _free(
    chances: NDArray[np.float32], alphabet: str, text: str, around: str, alike: bool = True
) -> float:
    """Likelihood of the best text without any rule, weighed as values are."""
    return float(likelihoods(chances, alphabet, [text], around, alike)[0])


def _ranked(
    names: Sequence[str],
    per_crop: Sequence[NDArray[np.float64]],
    free: Sequence[float],
    value_of: Callable[[str], str | None],
) -> Weighed:
    """Texts of one value count as one, by the likeliest of them."""
    table = np.array(per_crop)
    table = np.maximum(table, table.max(axis=1, keepdims=True) - 4 * _FAR)
    mean = table.mean(axis=0)
    order = np.argsort(-mean, kind="stable")
    best = names[order[0]]
    value = value_of(best)
    others = [i for i in order if value_of(names[i]) != value]
    if others:
        margin = float(mean[order[0]] - mean[others[0]])
        same = [i for i in order if value_of(names[i]) == value]
        least = float((table[:, same].max(axis=1) - table[:, others].max(axis=1)).min())
    else:
        margin = least = _FAR
    # A roomy crop may show more than the value; where it fits best, it should fit well.
    gap = float((np.array(free) - table[:, order[0]]).min())
    rivals: list[str] = []
    for i in others:
        rival = value_of(names[i])
        if rival is not None and rival not in rivals and mean[order[0]] - mean[i] < _FAR:
            rivals.append(rival)
    return Weighed(value, best, margin, least, max(0.0, gap), tuple(rivals[:3]))
