"""Weigh each value of a page by the recogniser that tells chances, not only a text."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from asfound.calc.allowed_texts import allowed_texts
from asfound.calc.letter_case import in_capitals
from asfound.calc.match_page import LEADERS
from asfound.calc.parse_value import parse_value
from asfound.calc.textlines import cut
from asfound.calc.weigh import Weighed, emptiness, weigh_listed, weigh_open
from asfound.calc.wrapping import Marks, unwrapped
from asfound.jobs.photo_text import PhotoText
from asfound.jobs.value_looks import Seen
from asfound.model.kinds import FieldType, Host, IPv4, Number, ReadOnly, Secret, Text, Time
from asfound.model.menu_map import Field
from asfound.ports.ocr import Lattice, Ocr

TIGHT = ((0.03, 0.0), (0.15, -0.06), (1.2, 0.02))
"""Padding of the crops, in line heights along and across."""


@dataclass(frozen=True, slots=True)
class Weighing:
    """A value weighed, and the lattices of its crops."""

    weighed: Weighed
    lattices: tuple[Lattice, ...] = ()


def weigh_values(
    wanted: Sequence[Field],
    seen: Sequence[Seen | None],
    marks: frozenset[Marks],
    text: PhotoText,
    ocr: Ocr,
) -> list[Weighing | None]:
    """One weighing for each field whose value was found, None for the others; of secrets only
    whether anything stands there."""
    places = [
        (index, one, one.box)
        for index, one in enumerate(seen)
        if one is not None and one.box is not None
    ]
    crops = [cut(text.pixels, box, pad) for _, _, box in places for pad in TIGHT]
    lattices = ocr.lattices(crops) if crops else []
    found: list[Weighing | None] = [None] * len(wanted)
    for number, (index, one, _) in enumerate(places):
        own = lattices[number * len(TIGHT) : (number + 1) * len(TIGHT)]
        weighed = weigh_value(wanted[index], own, (one.first[0], one.second[0]), marks)
        tight = [(lattice.scores, lattice.alphabet) for lattice in own[:2]]
        found[index] = Weighing(replace(weighed, empty=emptiness(tight)), tuple(own))
    return found


def weigh_value(
    field: Field,
    lattices: Sequence[Lattice],
    others: Sequence[str],
    marks: frozenset[Marks],
    may_be: Callable[[str], bool] = lambda _text: True,
) -> Weighed:
    """A field's values weighed against the lattices of its crops; ``others``: texts to weigh,
    besides what the lattices show; ``may_be``: which free texts may stand there."""
    crops = [(one.scores, one.alphabet) for one in lattices]
    kind = field.type
    if isinstance(kind, Secret):
        return Weighed(None)
    if texts := allowed_texts(kind, field.label):
        return weigh_listed(crops, texts)

    if isinstance(kind, Text | Host | ReadOnly):

        def bare(text: str) -> str:
            # The end of a leader, or the colon behind a label, is no part of the value.
            return unwrapped(text, (0.0,) * len(text), marks)[0].lstrip(LEADERS)

        serial = isinstance(kind, ReadOnly) and kind.what == "serial"

        def open_value(text: str) -> str | None:
            found = in_capitals(bare(text)) if serial else bare(text)
            return parse_value(kind, found, field.label).value

        return weigh_open(crops, open_value, others, may_be=lambda text: may_be(bare(text)))

    def value_of(text: str) -> str | None:
        return parse_value(kind, text, field.label).value

    return weigh_open(crops, value_of, others, _figures(kind), exact=False)


def _figures(kind: FieldType) -> str:
    """What a value made of figures may be written with."""
    match kind:
        case Time():
            return "0123456789: "
        case IPv4():
            return "0123456789. "
        case Number(unit=unit, words=words):
            return "0123456789.- " + unit + "".join(words)
        case _:
            return "0123456789-./ "
