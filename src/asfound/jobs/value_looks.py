"""Two looks at each value of a page: where it stands, and what is recognised there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from asfound.calc.ink import contrast, find_ink, hidden, inner_part
from asfound.calc.letter_case import checked_case, missed_spaces
from asfound.calc.match_page import LEADERS, LabelHit, PageMatch
from asfound.calc.textlines import Line, cut, narrowed, row_strip, stretch
from asfound.calc.value_columns import placed_spots, value_columns
from asfound.calc.value_spots import NOISE, Spot, joined, piece_box, piece_text, value_spots
from asfound.jobs.photo_text import CLOSE, WIDER, PhotoText
from asfound.jobs.value_ends import Span, line_levels, open_ends, span_of, strip_of
from asfound.model.kinds import FieldType, Host, ReadOnly, Secret, Text
from asfound.model.menu_map import Field
from asfound.model.reading import Box
from asfound.ports.ocr import Ocr, Recognised
from asfound.ports.pictures import Pixels

TIGHT, MARKED = (0.0, -0.05), (0.15, 0.1)
"""Padding of the first look at ink behind a label, and of the look without marks, in line
heights along and across."""

_STROKES = frozenset({"", "1", "l", "I", "|", "!", "[", "]", "i", "-", "_", "."})

_LEAST_SIGNS = 3
"""Signs from which marks beside a secret's label are a mask or a word."""

CLEAR_LABEL = 0.9
"""Certainty of the label's recognition below which a blank beside it is not believed."""


@dataclass(frozen=True, slots=True)
class Seen:
    """A value's two looks and outline; ``blank`` when the row is empty beyond doubt. ``row`` is the
    whole stretch between the label and the next one, or the edge of the text. ``unsure``: the
    ``trouble`` leaves the value open, whatever is read and of whatever type."""

    first: tuple[str, tuple[float, ...]]
    second: tuple[str, tuple[float, ...]]
    box: Box | None
    blank: bool = False
    masked: bool = False
    trouble: str = ""
    row: Box | None = None
    unsure: bool = False


def _mean(scores: Sequence[float]) -> float:
    return sum(scores) / len(scores) if scores else 0.0


def look_at_values(text: PhotoText, match: PageMatch, ocr: Ocr) -> list[Seen | None]:
    """Both looks at each field's value; None where neither its label nor its place was found."""
    spots = list(value_spots(match, text.lines))
    levels = line_levels(text)
    columns = value_columns(spots, text.lines, levels)
    for number, placed in placed_spots(match, text.lines, levels, spots, columns).items():
        spots[number] = placed
    crops: list[Pixels] = []
    plans: list[tuple[int, int]] = []
    gaps: list[Gap | None] = []
    for field, hit, spot in zip(match.fields, match.hits, spots, strict=True):
        start = len(crops)
        gap = None
        if spot is not None and spot.pieces:
            crops += _second_crops(text, field, spot)
        elif spot is not None and hit is not None and spot.gap is not None:
            gap = empty_stretch(text, hit, spot.gap)
            if gap.ink is not None:
                crops += [cut(text.pixels, gap.ink, pad) for pad in (TIGHT, WIDER)]
            # What the first recogniser saw there and could not read may be the value.
            if (gap.ink is not None or gap.hidden) and not spot.noise:
                label = text.lines[hit.line]
                where = columns.first_sign(levels[hit.line], label.height)
                gap = replace(gap, clear=_is_clear(text, label, where))
        plans.append((start, len(crops)))
        gaps.append(gap)
    read = list(ocr.recognise(crops)) if crops else []
    seen: list[Seen | None] = []
    for field, hit, spot, gap, (start, end) in zip(
        match.fields, match.hits, spots, gaps, plans, strict=True
    ):
        again = read[start:end]
        if _is_open(field):
            again = [
                _cased(crop, one, field.type)
                for crop, one in zip(crops[start:end], again, strict=True)
            ]
        if spot is None or (hit is None and not spot.pieces):
            seen.append(None)
            continue
        label = text.lines[hit.line] if hit is not None else _as_label(text, spot)
        seen.append(_seen(text, field, _Place(label, spot, gap), again))
    return seen


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a value stands: its row's label (or what stands for it), spot, and empty stretch."""

    label: Line
    spot: Spot
    gap: Gap | None


def _seen(text: PhotoText, field: Field, place: _Place, again: Sequence[Recognised]) -> Seen:
    """What stands there, with all that may be wrong with it; ``again``: its second look."""
    label, spot, gap = place.label, place.spot, place.gap
    span = None
    if spot.pieces:
        one, span = _pieces(text, field, spot, again), span_of(text, spot)
    else:
        one = _behind_label(label, spot, gap, again)
        span = gap.span if gap is not None and not one.blank else None
    words = one.first[0].strip() or one.second[0].strip()
    trouble = open_ends(text, field, label, (span, words))
    if isinstance(field.type, Secret) and words and not trouble:
        trouble = _no_mask(text, one, span)
    return replace(one, unsure=True, trouble=trouble) if trouble else one


def _as_label(text: PhotoText, spot: Spot) -> Line:
    """What stands for the hidden label of a value: the value's own line, far to the left."""
    line = text.lines[spot.pieces[0][0]]
    return replace(line, left=line.left - 11 * line.height, right=line.left - 10 * line.height)


def _is_clear(text: PhotoText, label: Line, where: tuple[float, float] | None) -> bool:
    """Whether the place where every value of the page begins is beyond doubt empty."""
    if where is None or where[0] < label.right + 0.2 * label.height or label.score < CLEAR_LABEL:
        return False
    if _leaves(text.pixels, row_strip(label, text.slopes, *where)):
        return False
    strip = strip_of(text, label, *where)
    beside = cut(text.pixels, label.quad, (0.0, 0.0))
    return find_ink(strip, contrast(beside)) is None and not hidden(strip, beside)


def _no_mask(text: PhotoText, seen: Seen, span: Span | None) -> str:
    """Why what was read of a secret may be dirt or a reflection; "" for three signs or more:
    read by both looks, or alike and evenly spaced."""
    read = min(sum(sign not in LEADERS for sign in words) for words, _ in (seen.first, seen.second))
    if seen.masked or read >= _LEAST_SIGNS or span is None:
        return ""
    room = 0.5 * span.line.height
    value = strip_of(text, span.line, span.left, span.right)
    wider = strip_of(text, span.line, span.left - room, span.right + room)
    ink = find_ink(wider, contrast(value))
    return "" if ink is not None and ink.alike >= _LEAST_SIGNS else "marks that are no mask"


def _cased(crop: Pixels, one: Recognised, kind: FieldType) -> Recognised:
    """The text with capitals, small letters and (but in serial numbers, which have none) spaces
    as the crop shows them."""
    text = checked_case(crop, one.text, one.places)
    scores, places = list(one.scores), list(one.places)
    spaces = missed_spaces(crop, text, one.places) if isinstance(kind, Text) else ()
    for index in reversed(spaces):
        text = f"{text[:index]} {text[index:]}"
        scores.insert(index, 1.0)
        places.insert(index, (places[index - 1] + places[index]) / 2)
    return Recognised(text, tuple(scores), tuple(places))


def _lengthened(text: PhotoText, field: Field, spot: Spot) -> list[Box]:
    """Outlines of the value's pieces. Of free text, which no list or form checks, the last one
    is lengthened to whatever ink follows it: a sign may have been overlooked."""
    boxes = [piece_box(text.lines[i], start) for i, start in spot.pieces]
    last = text.lines[spot.pieces[-1][0]]
    if _is_open(field) and spot.after is not None:
        left, right = spot.after
        strip = strip_of(text, last, left, right)
        ink = find_ink(strip, contrast(cut(text.pixels, boxes[-1], (0.0, 0.0))))
        if ink is not None:
            boxes[-1] = stretch(boxes[-1], boxes[-1][0][0], left + ink.end * (right - left))
    return boxes


def _second_crops(text: PhotoText, field: Field, spot: Spot) -> list[Pixels]:
    """The value's pieces, cut wider."""
    boxes = _lengthened(text, field, spot)
    crops = [cut(text.pixels, box, WIDER) for box in boxes]
    if len(crops) == 1 and not isinstance(field.type, Text | Host | ReadOnly | Secret):
        # Without an arrow or bracket, which may look like a figure.
        inside = cut(text.pixels, boxes[0], MARKED)
        part = inner_part(inside)
        crops = [narrowed(inside, part)] if part is not None else crops
    return crops


def _pieces(text: PhotoText, field: Field, spot: Spot, again: Sequence[Recognised]) -> Seen:
    lines = [text.lines[i] for i, _ in spot.pieces]
    if _is_open(field):
        crops = [cut(text.pixels, line.quad, CLOSE) for line in lines]
        lines = [
            _cased_from(line, n, (crop, field.type))
            for line, (_, n), crop in zip(lines, spot.pieces, crops, strict=True)
        ]
    starts = [start for _, start in spot.pieces]
    first = joined([piece_text(line, start) for line, start in zip(lines, starts, strict=True)])
    second = []
    for one in again:
        # The wider look may take in the end of a leader that stands before the value.
        lead = len(one.text) - len(one.text.lstrip(LEADERS))
        second.append((one.text[lead:], one.scores[lead:]))
    boxes = [piece_box(text.lines[i], start) for i, start in spot.pieces]
    words, wider = ("".join(look[0].split()) for look in (first, joined(second)))
    if _is_open(field) and wider.startswith(words) and any(map(str.isalnum, wider[len(words) :])):
        boxes = _lengthened(text, field, spot)
    (a, _, _, d), (_, b, c, _) = boxes[0], boxes[-1]
    beside = spot.noise or (_is_open(field) and _overlooked(text, spot))
    trouble = "something illegible stands beside it" if beside else ""
    row = _row(text, spot, lines)
    return Seen(first, joined(second), (a, b, c, d), trouble=trouble, row=row)


def _row(text: PhotoText, spot: Spot, lines: Sequence[Line]) -> Box | None:
    """The stretch that the value's row leaves it, when it is longer than the value's outline."""
    if spot.before is None:
        return None
    last = lines[-1]
    right = spot.after[1] if spot.after is not None else last.right + 0.3 * last.height
    return row_strip(last, text.slopes, spot.before[0], right)


def _cased_from(line: Line, start: int, seen: tuple[Pixels, FieldType]) -> Line:
    """The line; from character ``start`` on, where its value begins, as the crop shows it."""
    crop, kind = seen
    one = _cased(crop, Recognised(line.text, line.scores, line.places), kind)
    if one.text[:start].casefold() != line.text[:start].casefold():
        return line
    return replace(line, text=one.text, scores=one.scores, places=one.places)


def _is_open(field: Field) -> bool:
    return isinstance(field.type, Text | Host | ReadOnly)


def _overlooked(text: PhotoText, spot: Spot) -> bool:
    """True when ink as wide as a sign or two stands between the label and its value."""
    value = text.lines[spot.pieces[0][0]]
    if spot.before is None or spot.before[1] - spot.before[0] < value.height:
        return False
    left, right = spot.before
    strip = strip_of(text, value, left, right)
    ink = find_ink(strip, contrast(cut(text.pixels, value.quad, (0.0, 0.0))))
    return ink is not None and (ink.end - ink.start) * (right - left) > 0.8 * value.height


@dataclass(frozen=True, slots=True)
class Gap:
    """The empty stretch behind a label: outline of ink found there, or whether it is hidden;
    ``clear``: whatever is there, no value begins where those of the page do."""

    box: Box
    ink: Box | None
    hidden: bool
    is_mask: bool = False
    span: Span | None = None
    clear: bool = False


def empty_stretch(text: PhotoText, hit: LabelHit, where: tuple[float, float]) -> Gap:
    """What the row of a label shows from ``where[0]`` to ``where[1]``, in pixels along it."""
    label = text.lines[hit.line]
    left, right = where
    box = row_strip(label, text.slopes, left, right)
    strip, beside = cut(text.pixels, box, (0.0, 0.0)), cut(text.pixels, label.quad, (0.0, 0.0))
    ink = find_ink(strip, contrast(beside))
    if ink is None:
        return Gap(box, None, hidden(strip, beside) or _leaves(text.pixels, box))
    room = 0.25 * label.height
    start, end = (left + share * (right - left) for share in (ink.start, ink.end))
    inked = row_strip(label, text.slopes, start - room, end + room)
    return Gap(box, inked, False, ink.is_mask, Span(label, start, end, True))


def _leaves(pixels: Pixels, row: Box) -> bool:
    """Whether the row, with a quarter of its height above and below, lies partly outside the
    picture: then what stands there may be cut off."""
    corners = np.array(row)
    room = float(corners[3, 1] - corners[0, 1]) / 4
    return bool((corners[:2, 1] < room).any() or (corners[2:, 1] > len(pixels) - room).any())


def _behind_label(label: Line, spot: Spot, gap: Gap | None, read: Sequence[Recognised]) -> Seen:
    empty: tuple[str, tuple[float, ...]] = ("", ())
    if gap is None:
        return Seen(empty, empty, None, trouble="no room for a value found behind the label")
    if gap.ink is not None:
        legible = [(one.text, one.scores) if _mean(one.scores) >= NOISE else empty for one in read]
        # The end of a cursor bar or a reflection looks just like a lone stroke.
        lone = all(words.strip() in _STROKES for words, _ in legible)
        trouble = "a lone stroke: a sign, or only a drawing" if lone else ""
        if lone and gap.clear and not gap.is_mask:
            return Seen(empty, empty, gap.box, blank=True)
        return Seen(
            legible[0], legible[1], gap.ink, masked=gap.is_mask, trouble=trouble, row=gap.box
        )
    if gap.clear:
        return Seen(empty, empty, gap.box, blank=True)
    if gap.hidden or spot.noise:
        return Seen(
            empty,
            empty,
            gap.box,
            trouble="glare, a mark or the picture's edge hides what may stand here",
        )
    if label.score < CLEAR_LABEL:
        return Seen(empty, empty, gap.box, trouble="the row is too faint to call it blank")
    return Seen(empty, empty, gap.box, blank=True)
