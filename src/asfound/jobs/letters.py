"""Free texts judged once more by the known writing of all photographs of a menu."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from asfound.calc.combine import combine_known
from asfound.calc.confidence import confidence
from asfound.calc.glyphs import CERTAIN
from asfound.calc.judge import Judgement, Look, nearly_known
from asfound.calc.known_letters import (
    Letters,
    Pair,
    Pieces,
    letters_of,
    open_space,
    pooled,
    value_pieces,
    verdict,
)
from asfound.calc.look_alikes import signs_only
from asfound.calc.match_page import PageMatch
from asfound.calc.textlines import cut
from asfound.calc.wrapping import Marks
from asfound.jobs.photo_text import PhotoText
from asfound.jobs.value_looks import Seen
from asfound.jobs.value_weights import Weighing, weigh_value
from asfound.model.kinds import Host, ReadOnly, Secret, Text
from asfound.model.menu_map import Field
from asfound.model.reading import FieldReading, PhotoReading, State
from asfound.model.values import shown

ROOMS = ((0.35, 0.05), (0.1, 0.05), (0.03, 0.0), (0.2, -0.05))
"""Padding, in line heights along and across, at which a line is taken apart; the roomiest first."""


@dataclass(frozen=True, slots=True)
class OpenValue:
    """A free text with all that was made of it, to be judged again; ``pieces``: its characters."""

    field: Field
    looks: tuple[Look, ...]
    alone: Judgement
    weighing: Weighing
    marks: frozenset[Marks]
    pieces: Pieces


@dataclass(frozen=True, slots=True)
class Writing:
    """Of one photograph: characters whose meaning is known, and free texts."""

    known: tuple[Pair, ...] = ()
    open: tuple[OpenValue, ...] = ()


NO_WRITING = Writing()


def known_letters(
    text: PhotoText, match: PageMatch, seen: Sequence[Seen | None], judged: Sequence[Judgement]
) -> tuple[Pair, ...]:
    """Characters of labels and of sure values from lists and of known form."""
    found: list[Pair] = []
    for field, hit, one, judgement in zip(match.fields, match.hits, seen, judged, strict=True):
        if hit is not None:
            line = text.lines[hit.line]
            if hit.start == hit.line:
                crops = [cut(text.pixels, line.quad, room) for room in ROOMS]
                found += letters_of(crops, line.text, field.label)
        if (
            one is None
            or one.box is None
            or isinstance(field.type, Text | Host | ReadOnly | Secret)
        ):
            continue
        if judgement.state is State.SURE and judgement.value is not None:
            meant = shown(field.type, judgement.value)
            crops = [cut(text.pixels, one.box, room) for room in ROOMS]
            found += letters_of(crops, one.first[0], meant)
    return tuple(found)


def pieces_of(text: PhotoText, field: Field, seen: Seen, looks: Sequence[Look]) -> Pieces:
    """The characters of a free text; none where it cannot be taken apart, or is none."""
    if seen.box is None or not isinstance(field.type, Text | Host | ReadOnly):
        return Pieces()
    pairs = zip((seen.first, seen.second), looks, strict=False)
    texts = [(whole, look.text) for (whole, _), look in pairs]
    return value_pieces([cut(text.pixels, seen.box, room) for room in ROOMS], texts)


def by_known_letters(
    photos: Sequence[PhotoReading], writing: Mapping[str, Writing]
) -> list[PhotoReading]:
    """The photographs of one menu, their free texts judged by the known letters of all.

    ``writing``: of each photograph, by its content's hash.
    """
    letters = pooled([writing[photo.sha256].known for photo in photos if photo.sha256 in writing])
    again = []
    for photo in photos:
        fields = {field.id: field for field in photo.fields}
        for value in writing.get(photo.sha256, NO_WRITING).open:
            if (one := fields.get(value.field.id)) is not None:
                fields[value.field.id] = judged_again(one, value, letters)
        again.append(replace(photo, fields=tuple(fields.values())))
    return again


def judged_again(reading: FieldReading, value: OpenValue, letters: Letters) -> FieldReading:
    """The reading in the light of known letters; the same when they say nothing."""
    again = _by_letters(reading, value, letters)
    if again.value and nearly_known(value.field, again.value):
        return reading
    if again.state is not State.SURE or not isinstance(value.field.type, Text):
        return again
    spaced = open_space(value.pieces, again.value or "")
    if spaced is None:
        return again
    candidates = tuple(dict.fromkeys((again.value or "", spaced, *again.candidates)))
    reason = "a space may be there or not"
    return replace(again, state=State.DOUBT, candidates=candidates, reason=reason)


def _by_letters(reading: FieldReading, value: OpenValue, letters: Letters) -> FieldReading:
    weighed = value.weighing.weighed
    texts = (weighed.text, *weighed.rivals, *(look.text for look in value.looks))
    if reading.state is State.SURE:
        said = verdict(value.pieces, texts, letters, CERTAIN)
        if reading.value is None or said.allows(reading.value):
            return reading
        reason = "the same character looks otherwise elsewhere on the menu"
        return replace(reading, state=State.DOUBT, reason=reason)
    said = verdict(value.pieces, texts, letters)
    looks = tuple(look for look in value.looks if said.allows(look.text))
    others = tuple(look.text for look in looks)
    again = weigh_value(value.field, value.weighing.lattices, others, value.marks, said.allows)
    kind = value.field.type
    alphabet = kind.alphabet if isinstance(kind, Text) else ""
    settled = again.value is not None and said.settles(again.value, alphabet)
    alone = (
        value.alone if len(looks) == len(value.looks) else _without(value.alone, looks, said.allows)
    )
    judged = combine_known(kind, looks, alone, again, settled=settled)
    if judged.state is not State.SURE or judged.value is None:
        return reading
    alike = {one for one in reading.candidates if signs_only(one) == signs_only(judged.value)}
    if alike - {judged.value}:
        # Known letters tell O from 0, but neither a space, a point nor a capital.
        return reading
    chance = confidence(kind, judged.value, looks, again)
    return replace(
        reading,
        value=judged.value,
        state=State.SURE,
        candidates=judged.candidates,
        reason="",
        confidence=None if chance is None else round(chance, 4),
    )


def _without(alone: Judgement, looks: Sequence[Look], allows: Callable[[str], bool]) -> Judgement:
    """The first recogniser's judgement when some of its looks are ruled out: at best a doubt."""
    candidates = tuple(one for one in alone.candidates if allows(one))
    said = [look.parsed.value for look in looks if look.parsed.value is not None]
    best = next(iter((*said, *candidates)), None)
    if best is None:
        return Judgement(State.UNREAD, None, (), alone.reason)
    every = tuple(dict.fromkeys((*said, *candidates)))
    return Judgement(State.DOUBT, best, every, "two looks read different values")
