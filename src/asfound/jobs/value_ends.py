"""Where a value begins and ends on a photograph, and whether that is beyond doubt."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from asfound.calc.hidden_ends import BESIDE, burnt, covered, may_go_on, veiled
from asfound.calc.textlines import Line, cut, level, row_strip
from asfound.calc.value_spots import Spot, piece_box
from asfound.jobs.photo_text import PhotoText
from asfound.model.kinds import Host, ReadOnly, Text
from asfound.model.menu_map import Field
from asfound.ports.pictures import Pixels


@dataclass(frozen=True, slots=True)
class Span:
    """From where to where, along the row of ``line``, a value stands; ``bounded``: others on the
    page reach further to the right, so the screen does."""

    line: Line
    left: float
    right: float
    bounded: bool


def span_of(text: PhotoText, spot: Spot) -> Span:
    """The value of a spot that has pieces."""
    (first, start), (last, _) = spot.pieces[0], spot.pieces[-1]
    (a, _, _, d) = piece_box(text.lines[first], start)
    line, right = text.lines[first], text.lines[last].right
    return Span(line, (a[0] + d[0]) / 2, right, spot.after is not None)


def strip_of(text: PhotoText, line: Line, left: float, right: float) -> Pixels:
    """The row of ``line`` from ``left`` to ``right``, upright."""
    return cut(text.pixels, row_strip(line, text.slopes, left, right), (0.0, 0.0))


def line_levels(text: PhotoText) -> list[float]:
    """Where down the page each line stands: see ``textlines.level``."""
    if not text.lines:
        return []
    middles = np.array([line.quad for line in text.lines], dtype=np.float64).mean(axis=1)
    return [float(one) for one in level(middles, text.slopes)]


def open_ends(
    text: PhotoText,
    field: Field,
    label: Line,
    found: tuple[Span | None, str],
) -> str:
    """Why what was read beside ``label`` may belong to another label or be a part of the value
    only; "" when neither. ``found``: where it stands (None: nothing does), and what was read."""
    if label.row in text.unclear:
        return "it may belong to the row above or below"
    span, words = found
    if span is not None and _cut_off(text, field, label, (span, words)):
        return "glare or a cover beside it may hide a part"
    return ""


def _cut_off(text: PhotoText, field: Field, label: Line, found: tuple[Span, str]) -> bool:
    span, words = found
    far = BESIDE * span.line.height
    start = span.left - far
    if label.row == span.line.row:
        # A value in the label's own line begins where the label ends.
        start = max(start, min(span.left, label.right + 0.2 * label.height))
    value = strip_of(text, span.line, span.left, span.right)
    for before, left, right in ((True, start, span.left), (False, span.right, span.right + far)):
        if right - left < 0.25 * far or not may_go_on(field.type, field.label, words, before):
            continue
        beside = strip_of(text, span.line, left, right)
        if burnt(beside, cut(text.pixels, label.quad, (0.0, 0.0))):
            return True
        if (before or span.bounded) and covered(beside, value):
            return True
        # Bars and lamps are drawn beside levels and switches, beside free text hardly ever.
        if isinstance(field.type, Text | Host | ReadOnly) and veiled(beside, value):
            return True
    return False
