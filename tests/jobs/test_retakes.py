"""Which pages are worth another photograph: by how many values it would settle."""

from __future__ import annotations

from dataclasses import replace

from tests.visit_kit import MAP

from asfound.cli.retake_show import retake_json, retake_line
from asfound.jobs.retakes import retakes
from asfound.model.reading import FieldReading, PhotoReading, Reading, State
from asfound.model.retake import Cause, Fault
from asfound.ports.documents import from_json, to_json

GLARE = "step to the left, out of the lamp's reflection"


def field(name: str, state: State = State.DOUBT) -> FieldReading:
    return FieldReading(name, MAP.field(name).label, "?", None, state, photo="f00")


def fault(cause: Cause, hint: str, *fields: str) -> Fault:
    return Fault(cause, hint, fields, 70.0, 50.0, "luma")


def photo(page: str | None, *faults: Fault, file: str = "a.jpg") -> PhotoReading:
    return PhotoReading(file, file, page, 0.1, (), faults=faults)


FIELDS = (
    field("general.name"), field("general.code"), field("camera-1.record"),
    field("camera-1.size"), field("camera-2.record"), field("camera-2.size"),
)  # fmt: skip
READING = Reading(
    MAP.id, "2.0",
    (
        photo("general", fault(Cause.SHAKE, "hold still", "general.name"), file="g.jpg"),
        photo(
            "camera-1", fault(Cause.GLARE, GLARE, "camera-1.record", "camera-1.size"),
            file="c1.jpg",
        ),
        photo(
            "camera-2", fault(Cause.GLARE, GLARE, "camera-2.record"),
            fault(Cause.STAIN, "wipe it", "camera-2.size"), file="c2.jpg",
        ),
    ),
    FIELDS, (),
)  # fmt: skip


def test_a_page_with_one_uncertain_value_is_rather_settled() -> None:
    made = retakes(READING, MAP)
    assert [one.page for one in made] == ["camera-1", "camera-2"]
    first, second = made
    assert (first.number, first.pages, first.file) == (2, 3, "c1.jpg")
    assert [(row, label) for _, row, label, _ in first.rows] == [(1, "Record"), (2, "Size")]
    assert retake_line(first) == f"page 2 of 3, Camera 1, row 1 Record, row 2 Size: glare; {GLARE}"
    assert second.causes == (Cause.GLARE, Cause.STAIN) and second.hints == (GLARE, "wipe it")
    assert retake_json(READING, MAP)[0]["settles"] == 2


def test_the_page_that_settles_most_comes_first() -> None:
    more = photo("general", fault(Cause.SHAKE, "hold still", "general.name", "general.code"))
    worse = fault(Cause.DARK, "light", "camera-2.record", "camera-2.size")
    reading = replace(READING, photos=(more, photo("camera-2", worse), READING.photos[1]))
    assert [one.page for one in retakes(reading, MAP)] == ["general", "camera-1", "camera-2"]


def test_what_is_known_needs_no_photograph() -> None:
    settled = {"camera-1.size"}
    assert [one.page for one in retakes(READING, MAP, settled)] == ["camera-2"]
    sure = tuple(replace(one, state=State.SURE, value="x") for one in FIELDS)
    assert retakes(replace(READING, fields=sure), MAP) == ()
    # Another photograph of the page that is good settles it, whatever is wrong with the first.
    good = (*FIELDS[:2], *(replace(one, state=State.SURE) for one in FIELDS[2:]))
    assert retakes(replace(READING, fields=good), MAP) == ()


def test_photographs_without_a_page_while_one_is_missing() -> None:
    lost = photo(None, fault(Cause.BLURRED, "hold still"), file="dir/IMG_7.jpg")
    reading = replace(READING, photos=(lost,), missing_pages=("general",))
    made = retakes(reading, MAP)
    assert [retake_line(one) for one in made] == ["IMG_7.jpg shows no page: blurred; hold still"]
    assert retakes(replace(reading, missing_pages=()), MAP) == ()
    assert retakes(replace(reading, photos=(photo(None),)), MAP) == ()


def test_faults_are_kept_with_the_reading() -> None:
    assert from_json(Reading, to_json(READING)) == READING
