"""Read one photograph: find the text, tell the page, judge each value."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from asfound.calc.ink import contrast, find_ink, hidden
from asfound.calc.judge import Judgement, Look, judge, third_opinion
from asfound.calc.look_alikes import folded
from asfound.calc.match_page import LEADERS, LabelHit, PageMatch
from asfound.calc.parse_value import Parsed, parse_value
from asfound.calc.pick_page import PagePick, pick_page
from asfound.calc.textlines import (
    Line,
    Quads,
    as_box,
    cut,
    in_rows,
    lies_sideways,
    row_slopes,
    row_strip,
    sizes,
    stretch,
)
from asfound.calc.turns import turn_back, turn_picture, turn_quads
from asfound.calc.value_spots import NOISE, Spot, joined, piece_box, piece_text, value_spots
from asfound.calc.wrapping import Marks, common_marks, unwrapped
from asfound.model.kinds import Host, ReadOnly, Secret, Text
from asfound.model.menu_map import Field, MenuMap
from asfound.model.reading import Box, FieldReading, State
from asfound.ports.ocr import Ocr
from asfound.ports.pictures import Pixels

LOOK_SIDE = 960
"""Longest side, in pixels, at which text is looked for."""

UPRIGHT = 0.8
"""Legibility below which the picture is also tried upside down."""

TRIED = 6
"""Lines that are tried upside down."""

SMALL_TEXT = 13.0
"""Text lower than this (pixels at LOOK_SIDE) is looked for again, closer."""

FIRST, SECOND, THIRD, TIGHT = (0.0, 0.0), (0.3, 0.12), (0.15, 0.3), (0.0, -0.05)
"""Padding of the looks at a value, in line heights along and across."""


CLEAR_LABEL = 0.9
"""Certainty of the label's recognition below which a blank beside it is not believed."""


@dataclass(frozen=True, slots=True)
class PhotoText:
    """The text of one photograph in reading order, on ``pixels`` turned so that it stands
    upright; ``turns`` quarter turns counter-clockwise were needed."""

    lines: tuple[Line, ...]
    pixels: Pixels
    turns: int
    slopes: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class _Seen:
    """A value's two looks and outline; ``blank`` when the row is empty beyond doubt."""

    first: tuple[str, tuple[float, ...]]
    second: tuple[str, tuple[float, ...]]
    box: Box | None
    blank: bool = False
    masked: bool = False
    trouble: str = ""


def read_photo(
    pixels: Pixels, menu_map: MenuMap, firmware: str | None, ocr: Ocr
) -> tuple[PagePick, tuple[FieldReading, ...]]:
    """The page and its fields; no fields when the page could not be told.

    ``pixels``: upright photograph, RGB. Outlines are in its pixels.
    """
    text = photo_text(pixels, ocr)
    pick = pick_page(menu_map, firmware, text.lines)
    if pick.match is None and pick.rivals:
        # A lone figure behind a title is easily overlooked: read the top rows once more, wider.
        text = replace(text, lines=_wider_top(text, pick.rivals, ocr))
        pick = pick_page(menu_map, firmware, text.lines)
    if pick.match is None:
        return pick, ()
    seen = _look_at_values(text, pick.match, ocr)
    return pick, _fields(pick.match.fields, seen, text, ocr)


def photo_text(pixels: Pixels, ocr: Ocr) -> PhotoText:
    """Find and read all lines; the writing may lie in any direction."""
    quads = _detect(pixels, ocr)
    if not len(quads):
        return PhotoText((), pixels, 0, np.zeros(5))
    widths, heights = sizes(quads)
    if float(np.median(np.minimum(widths, heights))) * LOOK_SIDE / max(pixels.shape) < SMALL_TEXT:
        quads = _closer(pixels, quads, ocr)
    turns = 0
    if lies_sideways(quads):
        turns, quads = 1, turn_quads(quads, 1, pixels.shape)
        pixels = turn_picture(pixels, 1)
    lines = _recognise(pixels, quads, ocr)
    if _legibility(lines) < UPRIGHT:
        other, flipped = turn_picture(pixels, 2), turn_quads(quads, 2, pixels.shape)
        longest = np.argsort(-sizes(flipped)[0])[:TRIED]
        tried = _recognise(other, flipped[longest], ocr)
        if _legibility(tried) > _legibility([lines[i] for i in longest]):
            turns, pixels = turns + 2, other
            lines = _recognise(pixels, flipped, ocr)
    found = np.array([line.quad for line in lines], dtype=np.float64)
    slopes = row_slopes(found)
    return PhotoText(tuple(in_rows(lines, slopes)), pixels, turns, slopes)


def _detect(pixels: Pixels, ocr: Ocr) -> Quads:
    scale = min(1.0, LOOK_SIDE / max(pixels.shape[:2]))
    size = (round(pixels.shape[1] * scale), round(pixels.shape[0] * scale))
    small = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA) if scale < 1.0 else pixels
    found = ocr.detect(np.asarray(small, dtype=np.uint8))
    return np.asarray(np.array(found, dtype=np.float64).reshape(-1, 4, 2) / scale)


def _closer(pixels: Pixels, quads: Quads, ocr: Ocr) -> Quads:
    """Look again at just the part that has text."""
    low, high = quads.min(axis=(0, 1)), quads.max(axis=(0, 1))
    room = 0.08 * (high - low)
    x0, y0 = np.maximum(low - room, 0).astype(int)
    x1, y1 = np.minimum(high + room, pixels.shape[1::-1]).astype(int)
    if (x1 - x0) * (y1 - y0) > 0.7 * pixels.shape[0] * pixels.shape[1]:
        return quads
    again = _detect(np.ascontiguousarray(pixels[y0:y1, x0:x1]), ocr)
    return np.asarray(again + np.array([x0, y0])) if len(again) else quads


def _recognise(pixels: Pixels, quads: Quads, ocr: Ocr) -> list[Line]:
    boxes = [as_box(quad) for quad in quads]
    read = ocr.recognise([cut(pixels, box, FIRST) for box in boxes])
    return [
        Line(one.text, one.scores, one.places, box) for one, box in zip(read, boxes, strict=True)
    ]


def _legibility(lines: Sequence[Line]) -> float:
    """Mean score of lines of three characters and more, by their length."""
    long = [line for line in lines if len(line.text) >= 3]
    total = sum(len(line.text) for line in long)
    return sum(line.score * len(line.text) for line in long) / total if total else 0.0


def _wider_top(text: PhotoText, rivals: Sequence[PageMatch], ocr: Ocr) -> tuple[Line, ...]:
    """The lines above the first label, each recognised again with the room to its right."""
    first = min((hit.start for match in rivals for hit in match.hits if hit is not None), default=0)
    wider = []
    for index in range(first):
        line, after = text.lines[index], text.lines[index + 1]
        room = line.right + 4 * line.height
        if after.row == line.row:
            room = min(room, after.left - 0.3 * line.height)
        wider.append(stretch(line.quad, line.left, max(room, line.right)))
    read = ocr.recognise([cut(text.pixels, box, SECOND) for box in wider]) if wider else []
    top = [
        replace(line, text=one.text, scores=one.scores, places=one.places, quad=box)
        for line, box, one in zip(text.lines, wider, read, strict=False)
    ]
    return (*top, *text.lines[first:])


def _mean(scores: Sequence[float]) -> float:
    return sum(scores) / len(scores) if scores else 0.0


def _look_at_values(text: PhotoText, match: PageMatch, ocr: Ocr) -> list[_Seen | None]:
    """Both looks at each field's value; None where the label was not found."""
    spots = value_spots(match, text.lines)
    crops: list[Pixels] = []
    plans: list[tuple[int, int]] = []
    gaps: list[_Gap | None] = []
    for field, hit, spot in zip(match.fields, match.hits, spots, strict=True):
        start = len(crops)
        gap = None
        if spot is not None and spot.pieces:
            crops += _second_crops(text, field, spot)
        elif spot is not None and hit is not None and spot.gap is not None:
            gap = _gap(text, hit, spot.gap)
            if gap.ink is not None:
                crops += [cut(text.pixels, gap.ink, pad) for pad in (TIGHT, SECOND)]
        plans.append((start, len(crops)))
        gaps.append(gap)
    read = [(one.text, one.scores) for one in ocr.recognise(crops)] if crops else []
    seen: list[_Seen | None] = []
    for hit, spot, gap, (start, end) in zip(match.hits, spots, gaps, plans, strict=True):
        if hit is None or spot is None:
            seen.append(None)
        elif spot.pieces:
            seen.append(_pieces(text, spot, read[start:end]))
        else:
            seen.append(_behind_label(text.lines[hit.line], spot, gap, read[start:end]))
    return seen


def _second_crops(text: PhotoText, field: Field, spot: Spot) -> list[Pixels]:
    """The value's pieces, cut wider. Of free text, which no list or form checks, the last
    piece is lengthened to whatever ink follows it: a sign may have been overlooked."""
    boxes = [piece_box(text.lines[i], start) for i, start in spot.pieces]
    last = text.lines[spot.pieces[-1][0]]
    if isinstance(field.type, Text | Host | ReadOnly) and spot.after is not None:
        left, right = spot.after
        strip = cut(text.pixels, row_strip(last, text.slopes, left, right), (0.0, 0.0))
        ink = find_ink(strip, contrast(cut(text.pixels, boxes[-1], (0.0, 0.0))))
        if ink is not None:
            boxes[-1] = stretch(boxes[-1], boxes[-1][0][0], left + ink.end * (right - left))
    return [cut(text.pixels, box, SECOND) for box in boxes]


def _pieces(text: PhotoText, spot: Spot, again: Sequence[tuple[str, tuple[float, ...]]]) -> _Seen:
    first = joined([piece_text(text.lines[i], start) for i, start in spot.pieces])
    second = []
    for words, scores in again:
        # The wider look may take in the end of a leader that stands before the value.
        lead = len(words) - len(words.lstrip(LEADERS))
        second.append((words[lead:], scores[lead:]))
    boxes = [piece_box(text.lines[i], start) for i, start in spot.pieces]
    (a, _, _, d), (_, b, c, _) = boxes[0], boxes[-1]
    trouble = "something illegible stands beside it" if spot.noise else ""
    return _Seen(first, joined(second), (a, b, c, d), trouble=trouble)


@dataclass(frozen=True, slots=True)
class _Gap:
    """The empty stretch behind a label: outline of ink found there, or whether it is hidden."""

    box: Box
    ink: Box | None
    hidden: bool
    is_mask: bool = False


def _gap(text: PhotoText, hit: LabelHit, where: tuple[float, float]) -> _Gap:
    label = text.lines[hit.line]
    left, right = where
    box = row_strip(label, text.slopes, left, right)
    strip, beside = cut(text.pixels, box, (0.0, 0.0)), cut(text.pixels, label.quad, (0.0, 0.0))
    ink = find_ink(strip, contrast(beside))
    if ink is None:
        return _Gap(box, None, hidden(strip, beside))
    room = 0.25 * label.height
    start, end = (left + share * (right - left) for share in (ink.start, ink.end))
    inked = row_strip(label, text.slopes, start - room, end + room)
    return _Gap(box, inked, False, ink.is_mask)


def _behind_label(
    label: Line, spot: Spot, gap: _Gap | None, read: Sequence[tuple[str, tuple[float, ...]]]
) -> _Seen:
    empty: tuple[str, tuple[float, ...]] = ("", ())
    if gap is None:
        return _Seen(empty, empty, None, trouble="no room for a value found behind the label")
    if gap.ink is not None:
        legible = [look if _mean(look[1]) >= NOISE else empty for look in read]
        return _Seen(legible[0], legible[1], gap.ink, masked=gap.is_mask)
    if gap.hidden or spot.noise:
        return _Seen(empty, empty, gap.box, trouble="glare or a mark hides what may stand here")
    if label.score < CLEAR_LABEL:
        return _Seen(empty, empty, gap.box, trouble="the row is too faint to call it blank")
    return _Seen(empty, empty, gap.box, blank=True)


def _fields(
    wanted: Sequence[Field], seen: Sequence[_Seen | None], text: PhotoText, ocr: Ocr
) -> tuple[FieldReading, ...]:
    """Judge every value; those left in doubt get a third look, all in one go."""
    looks = [_looks(field, one, frozenset()) for field, one in zip(wanted, seen, strict=True)]
    marks = common_marks([pair[0].parsed for pair in looks if pair])
    looks = [_looks(field, one, marks) for field, one in zip(wanted, seen, strict=True)]
    judged = [
        _judged(field, one, pair) for field, one, pair in zip(wanted, seen, looks, strict=True)
    ]
    again = [
        index
        for index, (one, judgement) in enumerate(zip(seen, judged, strict=True))
        if one is not None
        and one.box is not None
        and judgement.state is not State.SURE
        # Where nothing legible stands, another look that reads nothing proves nothing.
        and (one.first[0].strip() or one.second[0].strip())
    ]
    boxes = [one.box for one in (seen[i] for i in again) if one is not None and one.box]
    read = ocr.recognise([cut(text.pixels, box, THIRD) for box in boxes]) if boxes else []
    for index, third in zip(again, read, strict=True):
        look = _look(wanted[index], third.text, third.scores, marks)
        judged[index] = third_opinion(wanted[index].type, looks[index], look, judged[index])
    return tuple(
        _reading(field, one, pair, judgement, text)
        for field, one, pair, judgement in zip(wanted, seen, looks, judged, strict=True)
    )


def _look(field: Field, words: str, scores: tuple[float, ...], marks: frozenset[Marks]) -> Look:
    if isinstance(field.type, Text | Host | ReadOnly):
        words, scores = unwrapped(words, scores, marks)
    if isinstance(field.type, ReadOnly):
        for factory in (field.default, *(value for _, value in field.defaults)):
            if factory and folded(words) == folded(factory):
                return Look(words, scores, Parsed(factory, (factory,)), known=True)
    return Look(words, scores, parse_value(field.type, words, field.label))


def _looks(field: Field, seen: _Seen | None, marks: frozenset[Marks]) -> tuple[Look, ...]:
    if seen is None:
        return ()
    return tuple(_look(field, *one, marks) for one in (seen.first, seen.second))


def _judged(field: Field, seen: _Seen | None, looks: tuple[Look, ...]) -> Judgement:
    if seen is None:
        return Judgement(State.UNREAD, None, (), "its row was not found on the photograph")
    if isinstance(field.type, Secret) and seen.masked:
        # A row of separate marks beside a secret's label is its mask, legible or not.
        return Judgement(State.SURE, "set", ("set",))
    judged = _blank(field, seen) or judge(field.type, looks[0], looks[1])
    if seen.trouble and judged.state is State.SURE and isinstance(field.type, Text | Host):
        return replace(judged, state=State.DOUBT, reason=seen.trouble)
    return judged


def _reading(
    field: Field,
    seen: _Seen | None,
    looks: tuple[Look, ...],
    judged: Judgement,
    text: PhotoText,
) -> FieldReading:
    secret = isinstance(field.type, Secret)
    box = None
    if seen is not None and seen.box is not None:
        corners = np.array([seen.box], dtype=np.float64)
        box = as_box(turn_back(corners, text.turns, text.pixels.shape)[0])
    return FieldReading(
        field.id,
        field.label,
        "" if secret or not looks else looks[0].text,
        judged.value,
        judged.state,
        judged.candidates,
        box,
        # What was recognised of a secret is dropped, and a reason could quote it.
        reason="not clear" if secret and judged.reason else judged.reason,
    )


def _blank(field: Field, seen: _Seen) -> Judgement | None:
    """A value that is not there: believed for texts and secrets in a clear, empty row."""
    if seen.first[0].strip() or seen.second[0].strip():
        return None
    empty = "blank" if isinstance(field.type, Secret) else ""
    if not isinstance(field.type, Secret | Text | Host):
        return Judgement(State.UNREAD, None, (), seen.trouble or "nothing written there")
    if seen.blank:
        return Judgement(State.SURE, empty, (empty,))
    reason = seen.trouble or "something stands there that could not be read"
    return Judgement(State.DOUBT, empty, (empty,), reason)
