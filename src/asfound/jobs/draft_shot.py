"""What one photograph of an unknown recorder's menu shows: heading, labels, values, marks."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from asfound.calc.draft_marks import has_bar, inked
from asfound.calc.draft_pieces import LEADERS, LEGIBLE, Piece
from asfound.calc.draft_rows import RawRow, Screen, screen
from asfound.calc.draft_shapes import CLOSING, OPENING, is_mask, without_marks
from asfound.calc.draft_spelling import worded
from asfound.calc.ink import contrast, find_ink, hidden, inner_part
from asfound.calc.letter_case import checked_case
from asfound.calc.textlines import Line, cut, narrowed, row_strip
from asfound.jobs.photo_text import WIDER, PhotoText, photo_text
from asfound.model.draft import Sample, Shot, ShownRow
from asfound.ports.ocr import Ocr, Recognised
from asfound.ports.pictures import Pixels

MARKED, TIGHT = (0.15, 0.1), (0.05, 0.0)
FADED = 0.76
"""Share of its neighbours' contrast below which a label is written faintly."""

_STROKES = frozenset("1lI|![]i-_.")
_FIGURE = re.compile(r"[+-]?\d{1,3}")


@dataclass(frozen=True, slots=True)
class _Look:
    """One row's value: what was read, in full and without the marks at its ends."""

    whole: str
    inner: str
    masked: bool = False
    hidden: bool = False


def draft_shot(pixels: Pixels, name: str, batch: str, ocr: Ocr) -> Shot:
    """The photograph (upright, RGB) as heading and rows; no rows without legible text."""
    return shot_of(photo_text(pixels, ocr), name, batch, ocr)


def shot_of(text: PhotoText, name: str, batch: str, ocr: Ocr) -> Shot:
    """The same from text that has been found already."""
    seen = screen(text.lines)
    seen = replace(seen, rows=tuple(_cased_row(text, row) for row in seen.rows))
    looks = _looks(text, seen, ocr)
    heading, score = _heading(text, seen, ocr)
    fades = _faded([cut(text.pixels, row.label.box, (0.0, 0.0)) for row in seen.rows])
    rows = []
    for row, look, faded in zip(seen.rows, looks, fades, strict=True):
        sample = _sample(text, seen, row, look)
        label = worded(row.label.text)
        rows.append(ShownRow(label, row.label.score, replace(sample, faded=faded)))
    return Shot(
        name, batch, worded(heading), score, seen.number, seen.total, seen.clock,
        tuple(rows),
    )  # fmt: skip


def _heading(text: PhotoText, seen: Screen, ocr: Ocr) -> tuple[str, float]:
    """The heading; where only the page's number was found beside it, its place is looked at."""
    if seen.heading or not seen.top:
        return seen.heading, seen.heading_score
    first, high = seen.top[0], seen.top[0].height
    left, right = seen.left - high, first.left - 0.3 * high
    if right - left < 2 * high:
        return "", 0.0
    crop = cut(text.pixels, row_strip(_line(first), text.slopes, left, right), WIDER)
    read = ocr.recognise([crop])[0]
    again, score = read.text.strip(LEADERS), float(np.mean(read.scores)) if read.scores else 0.0
    return (again, score) if score >= 0.7 and len(again) >= 3 else ("", 0.0)


def _cased_row(text: PhotoText, row: RawRow) -> RawRow:
    """The row with capitals and small letters as they stand on the screen."""
    value = row.value and _cased(text, row.value)
    return replace(row, label=_cased(text, row.label), value=value)


def _cased(text: PhotoText, piece: Piece) -> Piece:
    wide = piece.right - piece.left
    if wide <= 0 or len(piece.places) != len(piece.text):
        return piece
    places = [(place - piece.left) / wide for place in piece.places]
    crop = cut(text.pixels, piece.box, (0.0, 0.0))
    return replace(piece, text=checked_case(crop, piece.text, places))


def _faded(crops: Sequence[Pixels]) -> list[bool]:
    """Which labels have clearly less contrast than the page's others, on the same ground."""
    if len(crops) < 3:
        return [False] * len(crops)
    contrasts = np.array([contrast(crop) for crop in crops])
    grounds = np.array([float(np.median(crop)) for crop in crops])
    usual = float(np.percentile(contrasts, 70))
    cursor = np.abs(grounds - np.median(grounds)) > 0.35 * usual
    return [bool(flag) for flag in (contrasts < FADED * usual) & ~cursor]


def _looks(text: PhotoText, seen: Screen, ocr: Ocr) -> list[_Look]:
    """Each row's value: without the marks at its ends, or what ink stands behind the label."""
    crops: list[Pixels] = []
    plans: list[tuple[int, bool, bool]] = []
    for row in seen.rows:
        masked = unseen = False
        start = len(crops)
        if row.value is not None:
            inside = cut(text.pixels, row.value.box, MARKED)
            part = inner_part(inside)
            if part is not None:
                crops.append(narrowed(inside, part))
            if not _says_something(row.value.text):
                masked = _is_mask(text, seen, row)
        else:
            crop, masked, unseen = _behind(text, seen, row)
            if crop is not None:
                crops.append(crop)
        plans.append((len(crops) - start, masked, unseen))
    read = list(ocr.recognise(crops)) if crops else []
    looks: list[_Look] = []
    at = 0
    for row, (count, masked, unseen) in zip(seen.rows, plans, strict=True):
        looks.append(_look(row, read[at : at + count], masked, unseen))
        at += count
    return looks


def _look(row: RawRow, read: Sequence[Recognised], masked: bool, unseen: bool) -> _Look:
    again = read[0].text.strip() if read else ""
    score = float(np.mean(read[0].scores)) if read and read[0].scores else 0.0
    if row.value is not None:
        return _Look(row.value.text, again, masked)
    if score < LEGIBLE or again in _STROKES:
        # The end of a cursor bar or a reflection looks just like a lone stroke.
        return _Look("", "", masked, unseen or bool(read and not masked))
    return _Look(again, "", masked)


def _says_something(text: str) -> bool:
    return any(letter.isalnum() for letter in text)


def _line(piece: Piece) -> Line:
    return Line(piece.text, (), (), piece.box, 0, piece.left, piece.right, piece.height)


def _gap(text: PhotoText, seen: Screen, row: RawRow) -> tuple[Pixels, float, float] | None:
    label = row.label
    left, right = label.right + 0.2 * label.height, seen.right + 0.15 * label.height
    if right < left + label.height:
        return None
    strip = cut(text.pixels, row_strip(_line(label), text.slopes, left, right), (0.0, 0.0))
    return strip, left, right


def _is_mask(text: PhotoText, seen: Screen, row: RawRow) -> bool:
    gap = _gap(text, seen, row)
    if gap is None:
        return False
    ink = find_ink(gap[0], contrast(cut(text.pixels, row.label.box, (0.0, 0.0))))
    return ink is not None and ink.is_mask


def _behind(text: PhotoText, seen: Screen, row: RawRow) -> tuple[Pixels | None, bool, bool]:
    """(crop of the ink behind a lone label, whether it is a mask, whether glare hides it)."""
    gap = _gap(text, seen, row)
    if gap is None:
        return None, False, False
    strip, left, right = gap
    label = cut(text.pixels, row.label.box, (0.0, 0.0))
    ink = find_ink(strip, contrast(label))
    if ink is None:
        return None, False, hidden(strip, label)
    room = 0.25 * row.label.height
    start, end = (left + share * (right - left) for share in (ink.start, ink.end))
    box = row_strip(_line(row.label), text.slopes, start - room, end + room)
    return cut(text.pixels, box, TIGHT), ink.is_mask, False


def _sample(text: PhotoText, seen: Screen, row: RawRow, look: _Look) -> Sample:
    whole = look.whole.strip(LEADERS)
    if look.masked or is_mask(whole):
        return Sample("", masked=True)
    clean, lamp = without_marks(whole, look.inner.strip())
    bar = (not clean or bool(_FIGURE.fullmatch(clean))) and _bar_beside(text, seen, row)
    if row.value is None or not clean:
        if bar and not clean.isdigit():
            return Sample("", bar=True, hidden=True)
        return Sample(clean, bar=bar, lamp=lamp, hidden=look.hidden)
    before, after = _beside(text, row)
    marked = whole[:1] in OPENING or whole[-1:] in CLOSING
    stepped = marked or (before and after)
    lamp = not marked and (lamp or _starts_late(row.value) or (before and not after and not bar))
    return Sample(clean, bar=bar, lamp=lamp, stepped=stepped)


def _starts_late(value: Piece) -> bool:
    """True where the outline of the value begins well before its first sign: at a lamp."""
    return bool(value.places) and value.places[0] - value.left > 0.85 * value.height


def _beside(text: PhotoText, row: RawRow) -> tuple[bool, bool]:
    """Whether something is drawn close before and close behind the value."""
    value = row.value
    if value is None:
        return False, False
    # The colon behind a label is no lamp.
    colon = row.label.right + 0.55 * row.label.height
    level = contrast(cut(text.pixels, value.box, (0.0, 0.0)))
    high, line = value.height, _line(value)
    flags = []
    spans = (
        (max(value.left - 1.3 * high, colon), value.left - 0.12 * high),
        (value.right + 0.12 * high, value.right + 0.8 * high),
    )
    for left, right in spans:
        strip = cut(text.pixels, row_strip(line, text.slopes, left, right), (0.0, -0.05))
        flags.append(right - left > 0.3 * high and inked(strip, level))
    return flags[0], flags[1]


def _bar_beside(text: PhotoText, seen: Screen, row: RawRow) -> bool:
    """Whether a bar stands between the label and the right edge of the values."""
    label, value = row.label, row.value
    line = _line(label)
    spans = [(label.right + 0.3 * label.height, seen.right + 0.3 * label.height)]
    if value is not None:
        spans = [
            (max(label.right + 0.3 * label.height, value.left - 9 * value.height), value.left),
            (value.right, max(seen.right, value.right + 7 * value.height)),
        ]
    for left, right in spans:
        if right - left > 2.5 * label.height:
            box = row_strip(line, text.slopes, left, right)
            if has_bar(cut(text.pixels, box, (0.0, 0.08))):
                return True
    return False
