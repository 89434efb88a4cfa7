"""Read one photograph: find the text, tell the page, judge each value."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from asfound.calc.combine import combine
from asfound.calc.confidence import confidence
from asfound.calc.hidden_ends import lacks_unit, more_than
from asfound.calc.ink import inner_part
from asfound.calc.judge import Judgement, Look, judge, nearly_known, third_opinion
from asfound.calc.look_alikes import folded, signs_only
from asfound.calc.match_page import PageMatch
from asfound.calc.merge_photos import merge_field
from asfound.calc.parse_value import Parsed, parse_value
from asfound.calc.pick_page import PagePick
from asfound.calc.textlines import cut, narrowed
from asfound.calc.weigh import Weighed
from asfound.calc.wrapping import Marks, common_marks, unwrapped
from asfound.jobs.letters import NO_WRITING, OpenValue, Writing, known_letters, pieces_of
from asfound.jobs.page_sight import Asked, Sight, sights
from asfound.jobs.photo_text import PhotoText
from asfound.jobs.photo_views import in_photograph
from asfound.jobs.value_looks import Seen, look_at_values
from asfound.jobs.value_weights import weigh_value, weigh_values
from asfound.model.kinds import Host, ReadOnly, Secret, Text
from asfound.model.menu_map import Field
from asfound.model.reading import Box, FieldReading, State
from asfound.ports.ocr import Ocr, Recognised
from asfound.ports.pictures import Pixels

LEFT_OPEN = 0.15
"""Share of values left open from which on another view of the photograph is read."""

_NAMED = 2
"""Candidates of a doubt that another view of the photograph has to rule out."""

THIRD, ROOMY = (0.15, 0.3), (0.1, 0.05)
"""Padding of further looks at a value in doubt, in line heights along and across."""


@dataclass(frozen=True, slots=True)
class PhotoRead:
    """What was read: the page, its fields (none when the page could not be told), and writing to
    judge the free texts of the same menu by. ``numbers``: what may be the page's number."""

    pick: PagePick
    fields: tuple[FieldReading, ...]
    writing: Writing = NO_WRITING
    numbers: frozenset[int] = frozenset()


NOTHING = PhotoRead(PagePick(None), ())
"""Of a photograph that could not be read at all."""


def read_photo(pixels: Pixels, asked: Asked, ocr: Ocr) -> PhotoRead:
    """The page and its fields.

    ``pixels``: upright photograph, RGB. Outlines are in its pixels.
    """
    found: list[PhotoRead] = []
    for number, sight in enumerate(sights(pixels, asked, ocr)):
        match = sight.pick.match
        read = PhotoRead(sight.pick, (), numbers=sight.numbers)
        if match is not None:
            read = _page_read(match, look_at_values(sight.text, match, ocr), sight, ocr)
        found.append(read)
        told = any(one.pick.match is not None for one in found)
        if told and (number > 0 or not _asks_for_more(read.fields)):
            break
    return _merged(found)


def _asks_for_more(fields: Sequence[FieldReading]) -> bool:
    """True where many values are open, or nothing is seen of one: the outline of the screen may
    have been drawn through its row."""
    still = [field for field in fields if field.state is not State.SURE]
    return len(still) > LEFT_OPEN * len(fields) or any(not field.text.strip() for field in still)


def _merged(found: Sequence[PhotoRead]) -> PhotoRead:
    """What several views of one photograph add up to; the view that shows most labels leads."""
    told = [one for one in found if one.pick.match is not None]
    if not told:
        numbers = frozenset[int]().union(*(one.numbers for one in found if one.pick.rivals))
        return replace(max(found, key=lambda one: len(one.pick.rivals)), numbers=numbers)
    told.sort(key=lambda one: -(one.pick.match.share if one.pick.match else 0.0))
    leading, match = told[0], told[0].pick.match
    page = match.page.id if match else ""
    others = [one for one in told[1:] if one.pick.match and one.pick.match.page.id == page]
    if not others:
        return leading
    asked = {field.id: field for field in match.fields} if match else {}
    looks = {field.id: [field] for field in leading.fields}
    for one in others:
        for field in one.fields:
            looks.setdefault(field.id, []).append(field)
    fields = (over_views(asked[one.id], looks[one.id]) for one in leading.fields)
    writings = [one.writing for one in (leading, *others)]
    known = tuple(pair for writing in writings for pair in writing.known)
    free = tuple(value for writing in writings for value in writing.open)
    return PhotoRead(leading.pick, tuple(fields), Writing(known, free), leading.numbers)


def over_views(field: Field, looks: Sequence[FieldReading]) -> FieldReading:
    """One value over several views of a photograph. Free text that one view leaves open for a
    look-alike, another letter case, a space or another text stays open, however sure the other
    view: both show the same picture. So does a blank where another view shows a sign."""
    written = _written(looks)
    merged = merge_field(field, written)
    empty = merged.value in ("", "blank")
    free = isinstance(field.type, Text | Host | ReadOnly) or empty
    if merged.state is not State.SURE or not free or merged.value is None:
        return merged
    others = [
        one
        for look in (looks if empty else written)
        if look.state is State.DOUBT
        for one in look.candidates[:_NAMED]
        if _may_be(one, merged.value) or (one == look.value and one != merged.value)
    ]
    if not others:
        return merged
    candidates = tuple(dict.fromkeys((*merged.candidates, *others)))
    reason = "two views of the photograph read different values"
    return replace(merged, state=State.DOUBT, candidates=candidates, reason=reason)


def _may_be(one: str, value: str) -> bool:
    """True for another text that differs from ``value`` by look-alikes, case, spaces or points
    alone."""
    return one != value and folded(signs_only(one)) == folded(signs_only(value))


def _written(looks: Sequence[FieldReading]) -> Sequence[FieldReading]:
    """Without views that overlooked what another one reads: writing is easily overlooked, and
    hardly ever seen where there is none."""
    written = [look for look in looks if look.text.strip() and look.value]
    return written or looks


def _page_read(match: PageMatch, seen: Sequence[Seen | None], sight: Sight, ocr: Ocr) -> PhotoRead:
    """Judge every value; those left in doubt get a third look, all in one go."""
    text, wanted = sight.text, match.fields
    looks = [_looks(field, one, frozenset()) for field, one in zip(wanted, seen, strict=True)]
    marks = common_marks([pair[0].parsed for pair in looks if pair])
    looks = [_looks(field, one, marks) for field, one in zip(wanted, seen, strict=True)]
    alone = [
        _judged(field, one, pair) for field, one, pair in zip(wanted, seen, looks, strict=True)
    ]
    weighings = weigh_values(wanted, seen, marks, text, ocr)
    weights = [None if one is None else one.weighed for one in weighings]
    judged = [_combined(*one) for one in zip(wanted, looks, alone, weights, strict=True)]
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
            if alone[index].state is not State.SURE:
                look = _look(wanted[index], one.text, one.scores, marks)
                alone[index] = third_opinion(kind, looks[index][:2], look, alone[index])
                looks[index] = (*looks[index], look)
        judged[index] = _combined(wanted[index], looks[index], alone[index], weights[index])
    _whole_rows(wanted, seen, judged, text, ocr)
    judged = [
        _left_open(field, one, judgement)
        for field, one, judgement in zip(wanted, seen, judged, strict=True)
    ]
    fields = tuple(
        _reading(field, one, pair, judgement, sight)
        for field, one, pair, judgement in zip(wanted, seen, looks, judged, strict=True)
    )
    free = tuple(
        OpenValue(field, looked, by_first, weighing, marks, pieces)
        for field, one, looked, by_first, weighing in zip(
            wanted, seen, looks, alone, weighings, strict=True
        )
        if one is not None and weighing is not None and not one.unsure
        if not _lacks_unit(field, weighing.weighed.value or "")
        if (pieces := pieces_of(text, field, one, looked)).signs
    )
    writing = Writing(known_letters(text, match, seen, judged), free)
    return PhotoRead(sight.pick, fields, writing, sight.numbers)


def _left_open(field: Field, seen: Seen | None, judged: Judgement) -> Judgement:
    """A doubt where part of the value may be hidden, or another row's value stand, however sure
    what was read; and where a known name is nearly what was read."""
    if seen is None or judged.state is not State.SURE:
        return judged
    if seen.unsure:
        return replace(judged, state=State.DOUBT, reason=seen.trouble)
    texts = (seen.first[0], seen.second[0])
    if judged.value and (other := more_than(field.type, field.label, judged.value, texts)):
        candidates = tuple(dict.fromkeys((*judged.candidates, other)))
        return replace(judged, state=State.DOUBT, candidates=candidates, reason="more stands there")
    if judged.value and _lacks_unit(field, judged.value):
        return replace(judged, state=State.DOUBT, reason="a unit may stand behind it, unseen")
    if judged.value and (known := nearly_known(field, judged.value)):
        candidates = tuple(dict.fromkeys((known, *judged.candidates)))
        reason = f"the menu map knows {known!r} here"
        return Judgement(State.DOUBT, known, candidates, reason, judged.confidence)
    return judged


def _lacks_unit(field: Field, value: str) -> bool:
    known = [one for one in (field.default, *(value for _, value in field.defaults)) if one]
    return lacks_unit(field.type, value, known)


def _whole_rows(
    wanted: Sequence[Field],
    seen: Sequence[Seen | None],
    judged: list[Judgement],
    text: PhotoText,
    ocr: Ocr,
) -> None:
    """Values of known form that are still open, looked for in all the room that their row leaves
    them: a piece may have been overlooked."""
    rows: list[tuple[int, Box]] = []
    for index, (field, one) in enumerate(zip(wanted, seen, strict=True)):
        closed = not isinstance(field.type, Text | Host | ReadOnly | Secret)
        if closed and one is not None and one.row and judged[index].state is not State.SURE:
            rows.append((index, one.row))
    if not rows:
        return
    crops = [cut(text.pixels, row, pad) for _, row in rows for pad in ((0.0, 0.0), (0.0, 0.08))]
    lattices = ocr.lattices(crops)
    texts = ocr.recognise(crops[::2])
    for number, (index, _) in enumerate(rows):
        field = wanted[index]
        look = _look(field, texts[number].text, texts[number].scores, frozenset())
        pair = lattices[2 * number : 2 * number + 2]
        weighed = weigh_value(field, pair, (look.text,), frozenset())
        alone = Judgement(State.DOUBT, look.parsed.value, look.parsed.candidates, "not clear")
        again = combine(field.type, (look,), alone, weighed)
        if again.state is State.SURE:
            chance = _confidence(field, again, (look,), weighed)
            judged[index] = replace(again, confidence=chance)


def _combined(
    field: Field, looks: tuple[Look, ...], alone: Judgement, weighed: Weighed | None
) -> Judgement:
    if weighed is None or (alone.state is State.SURE and alone.value in ("", "blank")):
        return alone
    judged = combine(field.type, looks, alone, weighed)
    return replace(judged, confidence=_confidence(field, judged, looks, weighed))


def _confidence(
    field: Field, judged: Judgement, looks: Sequence[Look], weighed: Weighed
) -> float | None:
    if judged.value is None:
        return None
    chance = confidence(field.type, judged.value, looks, weighed)
    return None if chance is None else round(chance, 4)


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
    sight: Sight,
) -> FieldReading:
    secret = isinstance(field.type, Secret)
    told = seen is not None and seen.unsure
    box = None
    if seen is not None and seen.box is not None:
        box = in_photograph(seen.box, sight.text, sight.view)
    return FieldReading(
        field.id,
        field.label,
        "" if secret or not looks else looks[0].text,
        judged.value,
        judged.state,
        judged.candidates,
        box,
        # What was recognised of a secret is dropped, and a reason could quote it.
        reason="not clear" if secret and judged.reason and not told else judged.reason,
        confidence=judged.confidence,
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
