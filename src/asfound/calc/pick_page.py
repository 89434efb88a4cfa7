"""Tell which page of the menu map the text belongs to, or say that it cannot be told."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from rapidfuzz.distance import Levenshtein

from asfound.calc.match_page import PageMatch, counters, match_page, texts_of, title_score
from asfound.calc.parse_value import compact
from asfound.calc.textlines import Line
from asfound.model.menu_map import Field, MenuMap, Page

ENOUGH = 0.5
"""Share of a page's label characters that must be found."""

NEAR = 0.08
"""Pages whose shares differ by less than this are told apart by their titles."""

CLEAR = 0.8
"""Score that every character of a deciding title must reach."""


@dataclass(frozen=True, slots=True)
class PagePick:
    """The page found, or None, a note that says what to do, and the pages it could be."""

    match: PageMatch | None
    note: str = ""
    rivals: tuple[PageMatch, ...] = ()


def pick_page(
    menu_map: MenuMap, firmware: str | None, lines: Sequence[Line], only: str | None = None
) -> PagePick:
    """The page that ``lines`` (reading order) show; ``firmware`` None: of any version; ``only``:
    the page that it can be, told otherwise."""
    if not lines:
        return PagePick(None, "no text found; photograph the monitor closer and in focus")
    pages = [(page, _fields(menu_map, page, firmware)) for page in menu_map.pages]
    pages = [(page, fields) for page, fields in pages if fields and only in (None, page.id)]
    matches = [match_page(page, fields, lines) for page, fields in pages]
    best = max((match.share for match in matches), default=0.0)
    if best < ENOUGH:
        return PagePick(None, "no page of this menu map recognised; is it the right map?")
    rivals = [match for match in matches if match.share >= best - NEAR]
    if len(rivals) == 1:
        return PagePick(rivals[0])
    return _by_title(rivals, lines, [page.id for page, _ in pages])


def _by_title(rivals: list[PageMatch], lines: Sequence[Line], order: list[str]) -> PagePick:
    titled = [match for match in rivals if title_score(match.page.title, lines) >= CLEAR]
    counted = [
        match for match in rivals if (order.index(match.page.id) + 1, len(order)) in counters(lines)
    ]
    if len(titled) > 1:
        # "Camera 1" also stands in "Camera 12": the longest title that fits is meant.
        longest = max(len(match.page.title) for match in titled)
        titled = [match for match in titled if len(match.page.title) == longest]
    if len(titled) == 1 and (not counted or titled == counted):
        return PagePick(titled[0])
    if not titled and len(counted) == 1:
        return PagePick(counted[0])
    names = ", ".join(match.page.title for match in rivals[:4])
    return PagePick(
        None,
        f"could be any of: {names}; photograph it again with the title sharp and free",
        tuple(rivals),
    )


def by_number(rivals: Sequence[PageMatch], readings: Sequence[Sequence[Line]]) -> PageMatch | None:
    """The one of ``rivals`` whose number stands in a title that is legible but for letters,
    the same in each of the ``readings`` (one recogniser's lines each); else None."""
    first = min((hit.start for match in rivals for hit in match.hits if hit is not None), default=0)
    found = [
        {
            match.page.id
            for match in rivals
            for text, scores in texts_of(lines[:first])
            if _names(match.page.title, text, scores)
        }
        for lines in readings
    ]
    same = set.intersection(*found) if found else set()
    if len(same) != 1 or any(len(ids) != 1 for ids in found):
        return None
    return next(match for match in rivals if match.page.id in same)


def _names(title: str, text: str, scores: Sequence[float]) -> bool:
    """True when the text is ``title``, a letter in three read otherwise or missing, its number
    for certain."""
    wanted = re.fullmatch(r"(\D+)([0-9]+)", compact(title))
    seen = re.fullmatch(r"(\D+)([0-9]+)", text)
    if wanted is None or seen is None or wanted[2] != seen[2]:
        return False
    certain = min(scores[-len(seen[2]) :])
    return certain >= CLEAR and Levenshtein.distance(wanted[1], seen[1]) <= len(wanted[1]) // 3


def _fields(menu_map: MenuMap, page: Page, firmware: str | None) -> tuple[Field, ...]:
    if firmware is None:
        return page.fields
    return menu_map.page_fields(page, firmware)
