"""Pages told by the number that a menu writes on each, where the title is hidden.

Whether a menu numbers its pages, and in the map's order, is learned from photographs whose page is
told by its title.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from asfound.calc.match_page import PageMatch
from asfound.calc.textlines import Line
from asfound.model.menu_map import MenuMap

LEGIBLE = 0.8
"""Mean certainty that a number's line must have."""

_NUMBER = re.compile(r"[^\W\d]{0,4}\W{0,3}0*([1-9][0-9]{0,2})\W{0,2}")
"""A number alone or behind a short word: "07", "p. 7", "#7"."""


def page_numbers(lines: Sequence[Line], matches: Sequence[PageMatch]) -> frozenset[int]:
    """Numbers that stand above the first label of the ``matches`` over ``lines``."""
    starts = [hit.start for match in matches for hit in match.hits if hit is not None]
    above = lines[: min(starts, default=0)]
    found = (_NUMBER.fullmatch(line.text.strip()) for line in above if line.score >= LEGIBLE)
    return frozenset(int(match[1]) for match in found if match)


def is_numbered(
    menu_map: MenuMap, firmware: str | None, told: Sequence[tuple[str, frozenset[int]]]
) -> bool:
    """True when every page that was told and shows a number shows its place in the menu, at least
    two different ones. ``told``: page ids and the numbers seen there."""
    places = _places(menu_map, firmware)
    shown = {page for page, numbers in told if places.get(page) in numbers}
    return len(shown) >= 2 and all(page in shown for page, numbers in told if numbers)


def numbered(
    menu_map: MenuMap,
    firmware: str | None,
    rivals: Sequence[PageMatch],
    numbers: frozenset[int],
) -> str | None:
    """The only one of ``rivals`` (its page's id) whose place in the menu is among ``numbers``."""
    places = _places(menu_map, firmware)
    found = {match.page.id for match in rivals if places.get(match.page.id) in numbers}
    return found.pop() if len(found) == 1 else None


def _places(menu_map: MenuMap, firmware: str | None) -> dict[str, int]:
    pages = [
        page.id
        for page in menu_map.pages
        if (page.fields if firmware is None else menu_map.page_fields(page, firmware))
    ]
    return {page: place for place, page in enumerate(pages, start=1)}
