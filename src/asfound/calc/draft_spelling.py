"""Several readings of the same words added up to one spelling each, by vote."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from rapidfuzz.distance import Levenshtein


@dataclass(frozen=True, slots=True)
class Spelling:
    """A text and how often it was read."""

    text: str
    count: int


def folded(text: str) -> str:
    """Lower case without spaces: how texts are compared."""
    return "".join(text.split()).casefold()


def figures(text: str) -> str:
    """The figures of a text, in order: two texts that differ in them are not the same."""
    return "".join(sign for sign in text if sign.isdigit())


def worded(text: str) -> str:
    """A heading or label without figures that are letters misread ("0ffice", "F1ip")."""
    text = re.sub(r"(?<!\w)0(?=[^\W\d]{2})", "O", text)
    return re.sub(
        r"(?<=[^\W\d])[01](?=[^\W\d])", lambda found: "o" if found[0] == "0" else "l", text
    )


def best_spelling(texts: Iterable[str]) -> str:
    """The spelling read most often; of equals the one with more spaces, then the first."""
    counted = Counter(texts)
    most = max(counted.values())
    return max((text for text, count in counted.items() if count == most), key=_spaces)


def _spaces(text: str) -> int:
    return text.count(" ")


def spellings(texts: Iterable[str]) -> tuple[Spelling, ...]:
    """The different values among ``texts``, most frequent first.

    Spaces and case make no difference; a lone reading that is one letter off a long value that
    was read more often is taken for it. Figures always make a difference.
    """
    groups: dict[str, list[str]] = {}
    for text in texts:
        groups.setdefault(folded(text), []).append(text)
    ordered = sorted(groups, key=lambda key: -len(groups[key]))
    kept: list[str] = []
    for key in ordered:
        near = next((other for other in kept if _slip(key, other, groups)), None)
        if near is None:
            kept.append(key)
        else:
            # Counted with it, but its spelling has no vote.
            groups[near] += [best_spelling(groups[near])] * len(groups[key])
    return tuple(Spelling(best_spelling(groups[key]), len(groups[key])) for key in kept)


def _slip(key: str, other: str, groups: dict[str, list[str]]) -> bool:
    if len(groups[key]) > 1 or len(groups[other]) < 2 or figures(key) != figures(other):
        return False
    if key.endswith(other) and len(key) - len(other) <= 2 and len(other) >= 3:
        return True
    return min(len(key), len(other)) >= 5 and Levenshtein.distance(key, other) == 1
