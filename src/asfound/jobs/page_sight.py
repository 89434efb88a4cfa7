"""Look at a photograph until its page can be told: straight on or as it is, by two recognisers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from asfound.calc.ctc import best_path
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
    """What was made of the photograph: the page, and the text it was told by, in one view."""

    pick: PagePick
    text: PhotoText
    view: View


def sights(pixels: Pixels, menu_map: MenuMap, firmware: str | None, ocr: Ocr) -> Iterator[Sight]:
    """The best sight of each view of ``pixels`` (upright photograph, RGB)."""
    for view in views(pixels):
        text = photo_text(view.pixels, ocr)
        yield max(_told(text, view, (menu_map, firmware), ocr), key=_worth)


def _told(
    text: PhotoText, view: View, known: tuple[MenuMap, str | None], ocr: Ocr
) -> Sequence[Sight]:
    """The page by one recogniser's text, and where that leaves labels out, by the other's."""
    first = Sight(pick_page(*known, text.lines), text, view)
    if is_complete(first) or not text.lines:
        return (first,)
    other = replace(text, lines=_by_lattices(text, ocr))
    second = Sight(pick_page(*known, other.lines), other, view)
    led = first if first.pick.rivals else second
    if first.pick.match is None and second.pick.match is None and led.pick.rivals:
        named = by_number(led.pick.rivals, (text.lines, other.lines))
        if named is not None:
            return (replace(led, pick=PagePick(named)),)
    if first.pick.match is None and second.pick.match is None and first.pick.rivals:
        # A lone figure behind a title is easily overlooked: read the top rows once more, wider.
        wider = replace(text, lines=wider_top(text, first.pick.rivals, ocr))
        return first, second, Sight(pick_page(*known, wider.lines), wider, view)
    return first, second


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
