"""Look at a photograph until its page can be told: straight on or as it is, by two recognisers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from asfound.calc.ctc import best_path
from asfound.calc.page_numbers import page_numbers
from asfound.calc.pick_page import PagePick, by_number, pick_page
from asfound.calc.textlines import Line, cut
from asfound.jobs.photo_text import CLOSE, PhotoText, photo_text, wider_top
from asfound.jobs.photo_views import View, views
from asfound.model.menu_map import MenuMap
from asfound.ports.ocr import Ocr
from asfound.ports.pictures import Pixels

WHOLE = 0.93
"""Share of a page's label characters from which on another look is not worth its cost."""

_DRAWN = "◄►■… "


@dataclass(frozen=True, slots=True)
class Sight:
    """What was made of the photograph: the page, and the text it was told by, in one view.
    ``numbers``: what may be the page's number."""

    pick: PagePick
    text: PhotoText
    view: View
    numbers: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class Asked:
    """What is looked for: a page of a menu, of any firmware (None) or one; ``page``: its id, where
    that is known."""

    menu_map: MenuMap
    firmware: str | None
    page: str | None = None

    def pick(self, lines: Sequence[Line]) -> PagePick:
        """The page that ``lines`` show."""
        return pick_page(self.menu_map, self.firmware, lines, self.page)


def sights(pixels: Pixels, asked: Asked, ocr: Ocr) -> Iterator[Sight]:
    """The best sight of each view of ``pixels`` (upright photograph, RGB)."""
    for view in views(pixels):
        text = photo_text(view.pixels, ocr)
        yield max(_told(text, view, asked, ocr), key=_worth)


def _told(text: PhotoText, view: View, asked: Asked, ocr: Ocr) -> Sequence[Sight]:
    """The page by one recogniser's text, and where that leaves labels out, by the other's."""
    first = _sight(asked.pick(text.lines), text, view)
    if is_complete(first) or not text.lines:
        return (first,)
    other = replace(text, lines=_by_lattices(text, ocr))
    second = _sight(asked.pick(other.lines), other, view)
    both = first.numbers & second.numbers
    first, second = replace(first, numbers=both), replace(second, numbers=both)
    led = first if first.pick.rivals else second
    if first.pick.match is None and second.pick.match is None and led.pick.rivals:
        named = by_number(led.pick.rivals, (text.lines, other.lines))
        if named is not None:
            return (replace(led, pick=PagePick(named)),)
    if first.pick.match is None and second.pick.match is None and first.pick.rivals:
        # A lone figure behind a title is easily overlooked: read the top rows once more, wider.
        wider = replace(text, lines=wider_top(text, first.pick.rivals, ocr))
        return first, second, Sight(asked.pick(wider.lines), wider, view, both)
    return first, second


def _sight(pick: PagePick, text: PhotoText, view: View) -> Sight:
    matches = pick.rivals if pick.match is None else (pick.match,)
    return Sight(pick, text, view, page_numbers(text.lines, matches))


def _by_lattices(text: PhotoText, ocr: Ocr) -> tuple[Line, ...]:
    """The same lines as the second recogniser reads them, without drawings at their ends."""
    lattices = ocr.lattices([cut(text.pixels, line.quad, CLOSE) for line in text.lines])
    lines = []
    for line, lattice in zip(text.lines, lattices, strict=True):
        words, scores, places = best_path(lattice.scores, lattice.alphabet)
        start = len(words) - len(words.lstrip(_DRAWN))
        end = len(words.rstrip(_DRAWN))
        kept = slice(start, max(start, end))
        lines.append(replace(line, text=words[kept], scores=scores[kept], places=places[kept]))
    return tuple(lines)


def _worth(sight: Sight) -> tuple[bool, float]:
    match = sight.pick.match
    if match is not None:
        return True, match.share
    return False, max((rival.share for rival in sight.pick.rivals), default=0.0)


def is_complete(sight: Sight) -> bool:
    """True when every label of the page was found."""
    match = sight.pick.match
    return match is not None and match.share >= WHOLE and None not in match.hits
