"""Headings of an unknown menu: which are the same page, which name a group, which a camera."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence

from rapidfuzz.distance import Levenshtein

from asfound.calc.draft_spelling import figures, folded, worded

_BETWEEN = re.compile(r"\s*(?:>+|»|›|→|\||:|/|\s-|\s–)\s*")
_LONE = re.compile(r"(?<=\s)[IlOo|]$")
_NUMBER = re.compile(r"(?<![\d.])0?(\d{1,2})(?![\w.])")


def title_key(title: str) -> str:
    """The heading as it is compared: folded, a lone letter at its end taken for a figure."""
    mended = _LONE.sub(lambda found: "0" if found[0] in "Oo" else "1", title.strip())
    return folded(mended)


def same_title(a: str, b: str) -> bool:
    """True when two headings are the same but for a letter misread."""
    a, b = title_key(a), title_key(b)
    if a == b:
        return True
    longer = max(len(a), len(b))
    allowed = max(longer // 6, longer >= 5)
    return figures(a) == figures(b) and Levenshtein.distance(a, b) <= allowed


def alike(a: str, b: str) -> float:
    """How alike two labels are, 0..1; labels with different figures are not alike at all."""
    a, b = (folded(worded(text)) for text in (a, b))
    if figures(a) != figures(b):
        return 0.0
    return float(Levenshtein.normalized_similarity(a, b))


def overlap(some: Sequence[str], others: Sequence[str]) -> float:
    """The share of the shorter list of labels that the other one has, too."""
    if not some or not others:
        return 0.0
    few, many = sorted((some, others), key=len)
    return sum(any(alike(a, b) >= 0.75 for b in many) for a in few) / len(few)


def split_groups(headings: Iterable[str]) -> dict[str, tuple[str | None, str]]:
    """Heading -> (group, title). A group is what several headings say before a sign such as
    ``>`` or ``:``; without such a habit there are no groups."""
    whole = list(dict.fromkeys(headings))
    parts: dict[str, tuple[str, str]] = {}
    for heading in whole:
        found = _BETWEEN.search(heading)
        if found and heading[: found.start()].strip() and heading[found.end() :].strip():
            parts[heading] = (heading[: found.start()].strip(), heading[found.end() :].strip())
    shared = Counter(folded(group) for group, _ in parts.values())
    if len(parts) < 0.6 * len(whole) or max(shared.values(), default=0) < 2:
        return {heading: (None, heading) for heading in whole}
    spelled: dict[str, Counter[str]] = {}
    for group, _ in parts.values():
        spelled.setdefault(folded(group), Counter())[group] += 1
    names = {key: counted.most_common(1)[0][0] for key, counted in spelled.items()}
    split: dict[str, tuple[str | None, str]] = {}
    for heading in whole:
        if heading in parts:
            group, title = parts[heading]
            split[heading] = (names[folded(group)], title)
        else:
            split[heading] = _without_sign(heading, names)
    return split


def _without_sign(heading: str, names: dict[str, str]) -> tuple[str | None, str]:
    """A heading whose sign was overlooked, cut behind a group that others name."""
    if (name := names.get(folded(heading))) is not None:
        # Only the group was legible.
        return name, heading
    for key, name in sorted(names.items(), key=lambda item: -len(item[0])):
        size = len(name)
        if folded(heading[:size]) == key and heading[size:].strip():
            return name, heading[size:].strip()
    return None, heading


def camera_of(title: str) -> tuple[str, int] | None:
    """(title with ``{n}`` for its only number, that number); None without one number."""
    mended = _LONE.sub(lambda found: "0" if found[0] in "Oo" else "1", title.strip())
    found = list(_NUMBER.finditer(mended))
    if len(found) != 1:
        return None
    number = found[0]
    return f"{mended[: number.start()]}{{n}}{mended[number.end() :]}", int(number[1])


def numbered(label: str, camera: int) -> str:
    """The label with ``{n}`` in place of the camera's number."""
    return re.sub(rf"(?<![\w.]){camera}(?![\w.])", "{n}", label)
