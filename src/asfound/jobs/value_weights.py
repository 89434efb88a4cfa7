"""Weigh each value of a page by the recogniser that tells chances, not only a text."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from asfound.calc.allowed_texts import allowed_texts
from asfound.calc.parse_value import parse_value
from asfound.calc.textlines import cut
from asfound.calc.weigh import Weighed, emptiness, weigh_listed, weigh_open
from asfound.calc.wrapping import Marks, unwrapped
from asfound.jobs.photo_text import PhotoText
from asfound.jobs.value_looks import Seen
from asfound.model.kinds import Host, IPv4, Number, ReadOnly, Secret, Text, Time
from asfound.model.menu_map import Field
from asfound.ports.ocr import Lattice, Ocr

TIGHT = ((0.03, 0.0), (0.15, -0.06), (1.2, 0.02))
"""Padding of the crops, in line heights along and across."""


def weigh_values(
    wanted: Sequence[Field],
    seen: Sequence[Seen | None],
    marks: frozenset[Marks],
    text: PhotoText,
    ocr: Ocr,
) -> list[Weighed | None]:
    """One weighing for each field whose value was found, None for the others; of secrets only
    whether anything stands there."""
    places = [
        (index, one, one.box)
        for index, one in enumerate(seen)
        if one is not None and one.box is not None
    ]
    crops = [cut(text.pixels, box, pad) for _, _, box in places for pad in TIGHT]
    lattices = ocr.lattices(crops) if crops else []
    found: list[Weighed | None] = [None] * len(wanted)
    for number, (index, one, _) in enumerate(places):
        own = lattices[number * len(TIGHT) : (number + 1) * len(TIGHT)]
        weighed = weigh_value(wanted[index], own, (one.first[0], one.second[0]), marks)
        tight = [(lattice.scores, lattice.alphabet) for lattice in own[:2]]
        found[index] = replace(weighed, empty=emptiness(tight))
    return found


def weigh_value(
    field: Field, lattices: Sequence[Lattice], others: Sequence[str], marks: frozenset[Marks]
) -> Weighed:
    """A field's values weighed against the lattices of its crops; ``others``: texts to weigh,
    besides what the lattices show."""
    crops = [(one.scores, one.alphabet) for one in lattices]
    kind = field.type
    if isinstance(kind, Secret):
        return Weighed(None)
    if texts := allowed_texts(kind, field.label):
        return weigh_listed(crops, texts)

    def value_of(text: str) -> str | None:
        if isinstance(kind, Text | Host | ReadOnly):
            text, _ = unwrapped(text, (0.0,) * len(text), marks)
        return parse_value(kind, text, field.label).value

    if isinstance(kind, Text | Host | ReadOnly):
        return weigh_open(crops, value_of, others)
    allowed = "0123456789"
    if isinstance(kind, Time):
        allowed += ": "
    elif isinstance(kind, IPv4):
        allowed += ". "
    elif isinstance(kind, Number):
        allowed += ".- " + kind.unit + "".join(kind.words)
    else:
        allowed += "-./ "
    return weigh_open(crops, value_of, others, allowed, exact=False)
