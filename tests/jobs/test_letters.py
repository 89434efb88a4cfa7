"""Free texts judged by the known letters of all photographs. Lines are drawn in OpenCV's Hershey
fonts; lattices are made by hand, so that the second recogniser's leaning is known."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.calc.test_weigh import ALPHABET, crop
from tests.drawn_lines import drawn

from asfound.calc.judge import Judgement, Look
from asfound.calc.known_letters import Letters, letters_of, pooled, value_pieces
from asfound.calc.parse_value import parse_value
from asfound.calc.weigh import Weighed
from asfound.jobs.letters import OpenValue, Writing, by_known_letters, judged_again
from asfound.jobs.value_weights import Weighing, weigh_value
from asfound.model.kinds import ReadOnly, Text
from asfound.model.menu_map import Field
from asfound.model.reading import FieldReading, PhotoReading, State
from asfound.ports.ocr import Lattice

KNOWN = ("On Off Overlay", "10 200 30", "Pulse level")


def letters(*texts: str) -> Letters:
    return pooled([letters_of([drawn(text, scale=1.2)], text, text) for text in texts])


def torn_lattice(read: str, rival: str) -> Lattice:
    """One place for each character, a little more for that of ``read``, and a blank after it."""
    rows = []
    for one, other in zip(read, rival, strict=True):
        row = np.full(len(ALPHABET) + 1, 1e-6)
        row[ALPHABET.index(other) + 1] = 0.4
        row[ALPHABET.index(one) + 1] = 0.98 if one == other else 0.58
        row[0] = 0.02
        blank = np.full(len(ALPHABET) + 1, 1e-6)
        blank[0] = 1.0
        rows += [row / row.sum(), blank / blank.sum()]
    return Lattice(ALPHABET, np.array(rows, np.float32))


def value(shown: str, read: str, rival: str, *, kind: Text | ReadOnly | None = None) -> OpenValue:
    """``shown`` on the picture; the first recogniser reads ``read``, the second is torn between
    ``read`` and ``rival``."""
    field = Field("unit.name", "Name", kind or Text(20))
    lattices = (torn_lattice(read, rival),) * 3
    look = Look(read, (0.9,) * len(read), parse_value(field.type, read, field.label))
    alone = Judgement(State.DOUBT, read, (read, rival), "look-alike character '0'")
    weighed = weigh_value(field, lattices, (read,), frozenset())
    pieces = value_pieces([drawn(shown)], [(read, read)])
    return OpenValue(field, (look, look), alone, Weighing(weighed, lattices), frozenset(), pieces)


def reading(of: OpenValue, state: State = State.DOUBT) -> FieldReading:
    text = of.looks[0].text
    return FieldReading(of.field.id, of.field.label, text, text, state, of.alone.candidates)


def test_the_menus_own_letters_settle_a_doubt() -> None:
    torn = value("MO0", "M00", "MO0")
    assert torn.weighing.weighed.value == "M00"  # by a little, and wrong
    got = judged_again(reading(torn), torn, letters(*KNOWN))
    assert (got.state, got.value, got.reason) == (State.SURE, "MO0", "")
    assert got.confidence is not None


@pytest.mark.parametrize("other", ["MO 0", "mO0", "MO.0"])
def test_letters_settle_neither_a_space_nor_a_capital(other: str) -> None:
    torn = value("MO0", "M00", "MO0")
    before = replace(reading(torn), candidates=("M00", "MO0", other))
    assert judged_again(before, torn, letters(*KNOWN)) == before


def test_without_both_letters_it_stays_a_doubt() -> None:
    torn = value("MO0", "M00", "MO0")
    before = reading(torn)
    for known in (letters("10 200 30"), letters("On Off Overlay"), {}):
        assert judged_again(before, torn, known).state is State.DOUBT


def test_what_both_recognisers_misread_becomes_a_doubt() -> None:
    wrong = value("MO0", "M00", "M00")
    got = judged_again(reading(wrong, State.SURE), wrong, letters(*KNOWN))
    assert got.state is State.DOUBT and "looks otherwise" in got.reason
    right = value("M00", "M00", "M00")
    sure = reading(right, State.SURE)
    assert judged_again(sure, right, letters(*KNOWN)) == sure


def test_a_sure_name_with_room_for_a_space_is_a_doubt() -> None:
    run_together = value("CAM 6", "CAM6", "CAM6")
    got = judged_again(reading(run_together, State.SURE), run_together, {})
    assert got.state is State.DOUBT and got.candidates[:2] == ("CAM6", "CAM 6")
    serial = value("CAM 6", "CAM6", "CAM6", kind=ReadOnly("serial"))
    assert judged_again(reading(serial, State.SURE), serial, {}).state is State.SURE


def test_letters_of_one_photograph_serve_another() -> None:
    torn = value("MO0", "M00", "MO0")
    taught = [pair for text in KNOWN for pair in letters_of([drawn(text)], text, text)]
    photos = [
        PhotoReading("a.jpg", "a", "unit", 0.0, (reading(torn),)),
        PhotoReading("b.jpg", "b", "clock", 0.0, ()),
        PhotoReading("c.jpg", "", None, 0.0, (), damaged=True),
    ]
    alone = by_known_letters(photos, {"a": Writing((), (torn,))})
    assert alone == photos
    both = by_known_letters(photos, {"a": Writing((), (torn,)), "b": Writing(tuple(taught))})
    assert both[0].fields[0].value == "MO0" and both[1:] == photos[1:]


def test_a_value_that_is_not_weighed_stays_as_it_is() -> None:
    torn = replace(value("MO0", "M00", "MO0"), weighing=Weighing(Weighed(None)))
    assert judged_again(reading(torn), torn, letters(*KNOWN)) == reading(torn)


@pytest.mark.parametrize(("read", "meant"), [("KB-B269VwF", "KB-B269VWF"), ("Kb-a1", "Kb-a1")])
def test_a_serial_number_in_capitals_has_no_small_letters(read: str, meant: str) -> None:
    field = Field("unit.serial", "Serial number", ReadOnly("serial"))
    chances, alphabet = crop(read)
    got = weigh_value(field, [Lattice(alphabet, np.asarray(chances))], (), frozenset())
    assert got.value == meant


def test_a_leader_is_no_part_of_a_free_text() -> None:
    field = Field("unit.name", "Name", Text(20))
    chances, alphabet = crop("..: View 4")
    got = weigh_value(field, [Lattice(alphabet, np.asarray(chances))], (), frozenset())
    assert got.value == "View 4"
