"""Which page a photograph shows, and which text belongs to which label."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from rapidfuzz.distance import Levenshtein

from asfound.calc.parse_value import compact
from asfound.calc.textlines import Line
from asfound.model.menu_map import Field, Page

LEADERS = " :.·…_"
"""Characters between a label and its value."""


@dataclass(frozen=True, slots=True)
class LabelHit:
    """A label found: it starts at line ``start`` (index in reading order) and its value begins
    in line ``line`` at character ``cut``; ``score`` is in matching characters."""

    start: int
    line: int
    cut: int
    score: float


@dataclass(frozen=True, slots=True)
class PageMatch:
    """A page's labels over the lines: one hit or None per field; ``share`` is 0..1."""

    page: Page
    fields: tuple[Field, ...]
    hits: tuple[LabelHit | None, ...]
    share: float


def find_label(label: str, lines: Sequence[Line], start: int) -> LabelHit | None:
    """``label`` at the beginning of the text from line ``start`` on, in the same row."""
    wanted = compact(label).rstrip(":")
    text, spots = _following(lines, start, len(wanted) + 2)
    allowed = max(1 if len(wanted) >= 4 else 0, int(0.28 * len(wanted)))
    best: tuple[float, int] | None = None
    for size in range(max(1, len(wanted) - 2), min(len(text), len(wanted) + 2) + 1):
        distance = Levenshtein.distance(wanted, text[:size], score_cutoff=allowed)
        if distance > allowed:
            continue
        score = len(wanted) - 2.0 * distance + _ends_well(lines, spots, size)
        if best is None or score > best[0]:
            best = (score, size)
    if best is None:
        return None
    line, position = spots[best[1] - 1]
    return LabelHit(start, line, position + 1, best[0])


def _following(lines: Sequence[Line], start: int, enough: int) -> tuple[str, list[tuple[int, int]]]:
    """Folded text without spaces from line ``start`` on in its row, at least ``enough``
    characters of it where there are, and (line, position) of each character."""
    text = ""
    spots: list[tuple[int, int]] = []
    for index in range(start, len(lines)):
        if lines[index].row != lines[start].row or len(text) > enough:
            break
        for position, character in enumerate(lines[index].text):
            folded = character.casefold() if not character.isspace() else ""
            text += folded
            spots += [(index, position)] * len(folded)
    return text, spots


def _ends_well(lines: Sequence[Line], spots: Sequence[tuple[int, int]], size: int) -> float:
    """A label should end where a word ends."""
    line, position = spots[size - 1]
    following = lines[line].text[position + 1 : position + 2]
    return 0.5 if not following or following in LEADERS else -1.5


def match_page(page: Page, fields: Sequence[Field], lines: Sequence[Line]) -> PageMatch:
    """Best assignment of the page's labels to the lines, both in reading order."""
    total = sum(len(compact(field.label)) + 0.5 for field in fields)
    found = [[find_label(field.label, lines, i) for i in range(len(lines))] for field in fields]
    # best[f][s]: highest score with the first f fields over the first s lines.
    count = len(lines)
    best = [[0.0] * (count + 1) for _ in range(len(fields) + 1)]
    for f, row in enumerate(found, start=1):
        for s in range(1, count + 1):
            hit = row[s - 1]
            taken = best[f - 1][s - 1] + hit.score if hit is not None else -1.0
            best[f][s] = max(best[f - 1][s], best[f][s - 1], taken)
    hits: list[LabelHit | None] = [None] * len(fields)
    f, s = len(fields), count
    while f > 0 and s > 0:
        hit = found[f - 1][s - 1]
        # On a tie the later line is meant: a title above may say the same as a label.
        if hit is not None and best[f][s] == best[f - 1][s - 1] + hit.score:
            hits[f - 1] = hit
            f, s = f - 1, s - 1
        elif best[f][s] == best[f][s - 1]:
            s -= 1
        else:
            f -= 1
    share = best[len(fields)][count] / total if total else 0.0
    return PageMatch(page, tuple(fields), tuple(hits), share)


def title_score(title: str, lines: Sequence[Line]) -> float:
    """How surely ``title`` stands among the lines: 0..1; below 1 when a sign is uncertain.

    Numbers in a title tell pages apart, so they must be there exactly.
    """
    wanted = compact(title)
    best = 0.0
    for text, scores in texts_of(lines):
        at = text.find(wanted)
        while at >= 0:
            end = at + len(wanted)
            joined = text[end : end + 1].isdigit() and wanted[-1:].isdigit()
            if not joined:
                best = max(best, min(scores[at:end], default=0.0))
            at = text.find(wanted, at + 1)
    return best


def texts_of(lines: Sequence[Line]) -> list[tuple[str, list[float]]]:
    """Folded texts with their scores: pieces of one row are one text where they nearly touch
    (a title torn in two), and texts of their own where there is room between (a page number)."""
    texts: list[tuple[str, list[float]]] = []
    before: Line | None = None
    for line in lines:
        apart = before is None or line.row != before.row
        if apart or (before and line.left - before.right > line.height):
            texts.append(("", []))
        text, scores = texts[-1]
        for character, score in zip(line.text, line.scores, strict=True):
            if not character.isspace():
                for folded in character.casefold():
                    text += folded
                    scores = [*scores, score]
        texts[-1] = (text, scores)
        before = line
    return texts


def counters(lines: Sequence[Line]) -> set[tuple[int, int]]:
    """Pairs (n, total) written as "n/total" or "n of total" in short lines."""
    found = set()
    for line in lines:
        match = re.search(r"(?<![0-9/])([0-9]{1,3})\s*(?:/|of)\s*([0-9]{1,3})(?![0-9/])", line.text)
        if match and len(line.text) <= 20 and line.score > 0.8:
            found.add((int(match[1]), int(match[2])))
    return found
