"""Single characters cut from a line, and how alike two of them are drawn.

A menu writes every character the same way each time: beside characters whose meaning is known
(labels, values from lists, figures), the picture itself says whether an O or a 0 stands there. No
font is known beforehand. Where a font draws two characters alike, nothing is told.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

Glyph = NDArray[np.float32]
"""A character's ink, HEIGHT x WIDTH, mean 0 and deviation 1; proportions are kept."""

HEIGHT, WIDTH = 40, 48

_LINE, _INNER = 48, 32
"""Heights, in pixels, of a line when it is taken apart and of a character within its picture."""

_INKED = 0.45
"""Share of full ink from which on a pixel belongs to a character."""

_FAINTEST = 12.0
"""Contrast, in grey levels, below which a line is not taken apart."""

_SOFT = 1.3
"""Blur (sigma, pixels) that makes sharp and soft photographs alike."""

_ALIKE = 0.07
"""Difference up to which two pictures may be the same character in one font."""

_DISTINCT = ("5S", "8B", "2Z", "6G")
"""Pairs that recognisers mix up but no font draws alike (common practice, no source)."""

_CLEARLY = 0.02
"""Difference up to which a picture alone tells the characters of such a pair apart."""


@dataclass(frozen=True, slots=True)
class Piece:
    """A character cut from a line: its picture (None: too wide for a single character), and where
    it stands in a line of 48 pixels."""

    glyph: Glyph | None
    left: int
    right: int
    high: int


def line_pieces(crop: NDArray[np.uint8], count: int) -> tuple[Piece, ...] | None:
    """The characters of an upright single-line picture (RGB), from left to right.

    ``count``: characters that it shows, spaces not counted. None when the ink does not fall into
    as many pieces: characters that touch, or ink that is no character.
    """
    ink = _ink(crop)
    if ink is None or count == 0:
        return None
    boxes = _boxes(ink)
    if len(boxes) != count:
        return None
    return tuple(Piece(_glyph(ink, box), box[0], box[1], box[3] - box[2]) for box in boxes)


def differences(one: Glyph, others: Sequence[Glyph]) -> NDArray[np.float64]:
    """1 - correlation with each of ``others``, at the best shift of a pixel; 0: the same."""
    padded = np.pad(one, 1)
    moved = np.array(
        [
            padded[down : down + HEIGHT, across : across + WIDTH].ravel()
            for down in range(3)
            for across in range(3)
        ]
    )
    beside = np.array([other.ravel() for other in others])
    return np.asarray(1.0 - (moved @ beside.T).max(axis=0) / one.size, dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Rule:
    """When a character is ruled out: another one differs at most by ``same``, and it by at least
    ``factor`` times as much and ``apart`` more."""

    same: float
    factor: float
    apart: float


LIKELY = Rule(0.07, 1.8, 0.02)
"""Enough to leave a reading out of those that are weighed."""

CERTAIN = Rule(0.04, 3.0, 0.06)
"""Enough to doubt a reading that two recognisers share."""


def ruled_out(
    seen: Glyph, known: Mapping[str, Sequence[Glyph]], rule: Rule = LIKELY
) -> frozenset[str]:
    """Characters that ``seen`` is not, by pictures of ``known`` characters of the same menu (at
    least two of each; a single one may be spoilt).

    Nothing is ruled out unless one of the known characters is clearly what is seen.
    """
    apart = {
        character: _nearest(seen, glyphs) for character, glyphs in known.items() if len(glyphs) >= 2
    }
    if not apart:
        return frozenset()
    best = min(apart, key=lambda character: apart[character])
    least = apart[best]
    if least > rule.same:
        return frozenset()
    out = {
        character
        for character, far in apart.items()
        if far >= rule.factor * least and far - least >= rule.apart
    }
    if least <= _CLEARLY:
        out.update(
            other
            for pair in _DISTINCT
            if best in pair
            for other in pair
            if other != best and other not in apart
        )
    return frozenset(out)


def agreeing(glyphs: Sequence[Glyph]) -> tuple[Glyph, ...]:
    """The pictures of one character without those that look like none of the others; none at all
    when that leaves fewer than two, or fewer than half."""
    near = [
        glyph
        for at, glyph in enumerate(glyphs)
        if (np.delete(differences(glyph, glyphs), at) <= _ALIKE).any()
    ]
    return tuple(near) if len(near) >= 2 and 2 * len(near) >= len(glyphs) else ()


def _nearest(seen: Glyph, glyphs: Sequence[Glyph]) -> float:
    """Mean difference to the two most alike."""
    return float(np.sort(differences(seen, glyphs))[:2].mean())


def _ink(crop: NDArray[np.uint8]) -> NDArray[np.float32] | None:
    """How much of a pixel is ink, 0..1, whether the writing is dark or light."""
    grey = cv2.cvtColor(np.ascontiguousarray(crop), cv2.COLOR_RGB2GRAY).astype(np.float32)
    scale = _LINE / grey.shape[0]
    how = cv2.INTER_CUBIC if scale > 1 else cv2.INTER_AREA
    line = cv2.resize(grey, (max(2, round(grey.shape[1] * scale)), _LINE), interpolation=how)
    away = line - float(np.median(line))
    low, high = np.percentile(away, [1, 99])
    away = away if high > -low else -away
    full = float(np.percentile(away, 99))
    return np.asarray(np.clip(away / full, 0, 1), np.float32) if full > _FAINTEST else None


def _boxes(ink: NDArray[np.float32]) -> list[tuple[int, int, int, int]]:
    """Left, right, top and bottom of ink that stands apart; what lies above each other (an i and
    its dot) is one."""
    _, _, stats, _ = cv2.connectedComponentsWithStats((ink > _INKED).astype(np.uint8))
    boxes = sorted((int(x), int(x + w), int(y), int(y + h)) for x, y, w, h, a in stats[1:] if a > 5)
    pieces: list[tuple[int, int, int, int]] = []
    for left, right, top, bottom in boxes:
        if pieces:
            before = pieces[-1]
            shared = min(right, before[1]) - max(left, before[0])
            if shared > 0.4 * min(right - left, before[1] - before[0]):
                pieces[-1] = (
                    min(left, before[0]),
                    max(right, before[1]),
                    min(top, before[2]),
                    max(bottom, before[3]),
                )
                continue
        pieces.append((left, right, top, bottom))
    return pieces


def _glyph(ink: NDArray[np.float32], piece: tuple[int, int, int, int]) -> Glyph | None:
    left, right, top, bottom = piece
    width = max(2, round((right - left) * _INNER / (bottom - top)))
    if width > WIDTH - 4:
        return None
    inner = cv2.resize(ink[top:bottom, left:right], (width, _INNER))
    picture = np.zeros((HEIGHT, WIDTH), np.float32)
    start, above = (WIDTH - width) // 2, (HEIGHT - _INNER) // 2
    picture[above : above + _INNER, start : start + width] = inner
    soft = cv2.GaussianBlur(picture, (0, 0), _SOFT)
    return np.asarray((soft - soft.mean()) / (soft.std() + 1e-6), np.float32)
