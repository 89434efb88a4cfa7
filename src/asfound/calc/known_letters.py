"""What the known writing on a menu (labels, listed values, figures) says of its free texts.

A recogniser without a list cannot tell an O from a 0 but by its training. The menu itself can: it
draws each of them the same way everywhere.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median

import numpy as np
from numpy.typing import NDArray

from asfound.calc.glyphs import LIKELY, Glyph, Piece, Rule, agreeing, line_pieces, ruled_out
from asfound.calc.look_alikes import SAME_SHAPE, TWINS, folded

_FAMILIES = ("0Oo", "1lI|!i", "5Ss", "8B", "2Zz", "6Gb")
"""Characters that are mixed up with each other."""

_CASES = {"o": "O", "s": "S", "z": "Z"}
"""Small letters that differ from their capitals by size alone, which pictures don't keep."""

_ONE, _ALL = 4, 24
"""Pictures of one character that are kept of one photograph, and of all."""

_ROOM, _SPACE = 2.0, 0.3
"""Room that may be a space: times the other gaps, and in heights of the next character."""

_HARDLY = "|!"
"""Look-alikes that only count when a recogniser sees them: no name has them."""

Letters = Mapping[str, tuple[Glyph, ...]]
"""Pictures of each character whose meaning is known."""

Pair = tuple[str, Glyph]
"""A character and its picture."""


def close_up(text: str) -> str:
    """``text`` without spaces."""
    return "".join(text.split())


def letters_of(crops: Sequence[NDArray[np.uint8]], read: str, meant: str) -> tuple[Pair, ...]:
    """The characters of a line that was recognised as ``read`` and of which ``meant`` is known to
    be a part, from the first of ``crops`` that can be taken apart; none where ``read`` shows it
    otherwise than by look-alikes."""
    shown, known = close_up(read), close_up(meant)
    seen, wanted = folded(read), folded(meant)
    start = seen.find(wanted)
    if not known or start < 0 or (len(seen), len(wanted)) != (len(shown), len(known)):
        return ()
    for crop in crops:
        if (pieces := line_pieces(crop, len(shown))) is not None:
            pairs = zip(known, pieces[start : start + len(known)], strict=True)
            return tuple((one, piece.glyph) for one, piece in pairs if piece.glyph is not None)
    return ()


def pooled(photos: Sequence[Sequence[Pair]]) -> Letters:
    """The known characters of photographs of one menu; pictures that don't agree are left out."""
    found: dict[str, list[Glyph]] = {}
    for photo in photos:
        here: dict[str, list[Glyph]] = {}
        for character, glyph in photo:
            here.setdefault(character, []).append(glyph)
        for character, glyphs in here.items():
            found.setdefault(character, []).extend(glyphs[:_ONE])
    letters = {character: agreeing(glyphs[:_ALL]) for character, glyphs in found.items()}
    return {character: glyphs for character, glyphs in letters.items() if glyphs}


@dataclass(frozen=True, slots=True)
class Pieces:
    """A value's characters, spaces not counted; ``whole``: there is no other ink close by."""

    signs: tuple[Piece, ...] = ()
    whole: bool = False


def value_pieces(crops: Sequence[NDArray[np.uint8]], texts: Sequence[tuple[str, str]]) -> Pieces:
    """The characters of a value, from the first of ``crops`` (the roomiest leads) that falls into
    as many pieces as one of ``texts`` has characters; none when no crop does.

    ``texts``: as read, and without the marks round it.
    """
    for number, crop in enumerate(crops):
        for whole, bare in ((close_up(whole), close_up(bare)) for whole, bare in texts):
            start = whole.find(bare)
            if not bare or start < 0:
                continue
            if (pieces := line_pieces(crop, len(whole))) is not None:
                return Pieces(pieces[start : start + len(bare)], number == 0)
    return Pieces()


@dataclass(frozen=True, slots=True)
class Verdict:
    """Characters that cannot stand at each place of a value (spaces not counted). ``words``: its
    letters and figures as read where the ink fits them; then no more and no fewer signs, such as
    points, stand between or beside them. ``read``: readings of as many characters."""

    out: tuple[frozenset[str], ...]
    words: frozenset[str] = frozenset()
    read: frozenset[str] = frozenset()

    def allows(self, text: str) -> bool:
        """False when ``text`` cannot stand there. Texts of another length are judged only by the
        signs between the same letters and figures."""
        shown = close_up(text)
        if len(shown) != len(self.out):
            return _words(text) not in self.words
        return not any(one in out for one, out in zip(shown, self.out, strict=True))

    def settles(self, text: str, alphabet: str = "") -> bool:
        """True when no character of ``text`` could as well be its look-alike (of ``alphabet``; "":
        any): one of the same shape in many fonts, or one that was read there, too."""
        shown = close_up(text)
        if len(shown) != len(self.out) or not self.allows(text):
            return False
        for at, (one, out) in enumerate(zip(shown, self.out, strict=True)):
            twins = {twin for twin in TWINS.get(one, "") if not alphabet or twin in alphabet}
            if one not in SAME_SHAPE:
                twins &= {other[at] for other in self.read}
            if not twins.difference(_HARDLY) <= out:
                return False
        return True


def verdict(pieces: Pieces, texts: Sequence[str], letters: Letters, rule: Rule = LIKELY) -> Verdict:
    """What known letters say of a value's characters. ``texts``: what it may read."""
    shown = [text for text in map(close_up, texts) if len(text) == len(pieces.signs)]
    out = []
    for at, piece in enumerate(pieces.signs):
        family = {
            one for text in shown for group in _FAMILIES if text[at] in group for one in group
        }
        known: dict[str, tuple[Glyph, ...]] = {}
        for one in sorted(family):
            whole = _CASES.get(one, one)
            if whole in letters and one in letters:
                known[whole] = (*known.get(whole, ()), *letters[one])
        seen = piece.glyph
        found = ruled_out(seen, known, rule) if seen is not None and known else frozenset()
        small = (one for one, capital in _CASES.items() if capital in found)
        out.append(found.union(small))
    words = frozenset(map(_words, shown)) - {""} if pieces.whole else frozenset()
    return Verdict(tuple(out), words, frozenset(shown))


def open_space(pieces: Pieces, text: str) -> str | None:
    """``text`` with a space where the picture shows near as much room as one takes, and the text
    goes from letters to figures or to a capital; None where there is no such place."""
    shown = close_up(text)
    gaps = [after.left - before.right for before, after in pairwise(pieces.signs)]
    if len(shown) != len(pieces.signs) or len(gaps) < 3 or any(one.isspace() for one in text):
        return None
    for at, gap in enumerate(gaps, start=1):
        before, after = shown[at - 1], shown[at]
        joint = before.isalnum() and after.isalnum()
        joint &= before.isalpha() != after.isalpha() or (before.islower() and after.isupper())
        others = [other for place, other in enumerate(gaps, start=1) if place != at]
        if joint and gap >= max(_ROOM * median(others), _SPACE * pieces.signs[at].high):
            return f"{shown[:at]} {shown[at:]}"
    return None


def _words(text: str) -> str:
    return "".join(one for one in text if one.isalnum())
