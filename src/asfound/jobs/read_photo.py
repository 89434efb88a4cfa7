"""Read one photograph: find the text, tell the page, judge each value."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from asfound.calc.ink import between_arrows, inner_part
from asfound.calc.judge import Judgement, Look, judge, third_opinion
from asfound.calc.look_alikes import folded
from asfound.calc.parse_value import Parsed, parse_value
from asfound.calc.pick_page import PagePick, pick_page
from asfound.calc.textlines import as_box, cut, narrowed
from asfound.calc.turns import turn_back
from asfound.calc.wrapping import Marks, common_marks, unwrapped
from asfound.jobs.photo_text import PhotoText, photo_text, wider_top
from asfound.jobs.value_looks import Seen, look_at_values
from asfound.model.kinds import Host, ReadOnly, Secret, Text
from asfound.model.menu_map import Field, MenuMap
from asfound.model.reading import FieldReading, State
from asfound.ports.ocr import Ocr, Recognised
from asfound.ports.pictures import Pixels

THIRD, ROOMY = (0.15, 0.3), (0.1, 0.05)
ARROWS = ((0.3, 0.05), (0.5, 0.0))
"""Padding of further looks at a value in doubt, in line heights along and across."""


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
        text = replace(text, lines=wider_top(text, pick.rivals, ocr))
        pick = pick_page(menu_map, firmware, text.lines)
    if pick.match is None:
        return pick, ()
    seen = look_at_values(text, pick.match, ocr)
    return pick, _fields(pick.match.fields, seen, text, ocr)


def _fields(
    wanted: Sequence[Field], seen: Sequence[Seen | None], text: PhotoText, ocr: Ocr
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
    for index, looked in zip(again, _more_looks(text, [seen[i] for i in again], ocr), strict=True):
        kind = wanted[index].type
        for one in looked:
            if judged[index].state is not State.SURE:
                look = _look(wanted[index], one.text, one.scores, marks)
                judged[index] = third_opinion(kind, looks[index], look, judged[index])
    _past_arrows(wanted, seen, judged, text, ocr)
    return tuple(
        _reading(field, one, pair, judgement, text)
        for field, one, pair, judgement in zip(wanted, seen, looks, judged, strict=True)
    )


def _past_arrows(
    wanted: Sequence[Field],
    seen: Sequence[Seen | None],
    judged: list[Judgement],
    text: PhotoText,
    ocr: Ocr,
) -> None:
    """Judge values between solid arrows by two looks that leave the arrows out.

    An arrow is easily taken for a figure, by several looks alike: so these two have the last
    word, also over what seemed sure.
    """
    places: list[int] = []
    crops: list[Pixels] = []
    for index, (field, one) in enumerate(zip(wanted, seen, strict=True)):
        closed = not isinstance(field.type, Text | Host | ReadOnly | Secret)
        if one is None or one.box is None or not closed:
            continue
        insides = [cut(text.pixels, one.box, pad) for pad in ARROWS]
        parts = [between_arrows(inside) for inside in insides]
        for inside, part in zip(insides, parts, strict=True):
            if any(parts):
                places.append(index)
                crops.append(narrowed(inside, part) if part is not None else inside)
    read = ocr.recognise(crops) if crops else []
    looks: dict[int, list[Look]] = {}
    for index, one_read in zip(places, read, strict=True):
        look = _look(wanted[index], one_read.text, one_read.scores, frozenset())
        looks.setdefault(index, []).append(look)
    for index, pair in looks.items():
        again = judge(wanted[index].type, pair[0], pair[1])
        before = judged[index]
        if again.state is State.SURE:
            judged[index] = again
        elif before.state is State.SURE and before.value not in again.candidates:
            both = tuple(dict.fromkeys((*before.candidates, *again.candidates)))
            reason = "an arrow beside it may have been taken for a figure"
            judged[index] = replace(before, state=State.DOUBT, candidates=both, reason=reason)


def _more_looks(text: PhotoText, seen: Sequence[Seen | None], ocr: Ocr) -> list[list[Recognised]]:
    """Of each value: wider still, and without the marks that may stand at its ends."""
    crops: list[Pixels] = []
    plans: list[tuple[int, int]] = []
    for one in seen:
        start = len(crops)
        if one is not None and one.box is not None:
            crops.append(cut(text.pixels, one.box, THIRD))
            inside = cut(text.pixels, one.box, ROOMY)
            if (part := inner_part(inside)) is not None:
                crops.append(narrowed(inside, part))
        plans.append((start, len(crops)))
    read = ocr.recognise(crops) if crops else []
    return [list(read[start:end]) for start, end in plans]


def _look(field: Field, words: str, scores: tuple[float, ...], marks: frozenset[Marks]) -> Look:
    if isinstance(field.type, Text | Host | ReadOnly):
        words, scores = unwrapped(words, scores, marks)
    if isinstance(field.type, ReadOnly):
        for factory in (field.default, *(value for _, value in field.defaults)):
            if factory and folded(words) == folded(factory):
                return Look(words, scores, Parsed(factory, (factory,)), known=True)
    return Look(words, scores, parse_value(field.type, words, field.label))


def _looks(field: Field, seen: Seen | None, marks: frozenset[Marks]) -> tuple[Look, ...]:
    if seen is None:
        return ()
    return tuple(_look(field, *one, marks) for one in (seen.first, seen.second))


def _judged(field: Field, seen: Seen | None, looks: tuple[Look, ...]) -> Judgement:
    if seen is None:
        return Judgement(State.UNREAD, None, (), "its row was not found on the photograph")
    if isinstance(field.type, Secret) and seen.masked:
        # A row of separate marks beside a secret's label is its mask, legible or not.
        return Judgement(State.SURE, "set", ("set",))
    judged = _blank(field, seen) or judge(field.type, looks[0], looks[1])
    if (
        seen.trouble
        and judged.state is State.SURE
        and isinstance(field.type, Text | Host | ReadOnly)
    ):
        return replace(judged, state=State.DOUBT, reason=seen.trouble)
    return judged


def _reading(
    field: Field,
    seen: Seen | None,
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


def _blank(field: Field, seen: Seen) -> Judgement | None:
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
