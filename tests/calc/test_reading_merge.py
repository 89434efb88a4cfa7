"""Readings made into one: nothing certain is lost, nothing uncertain becomes certain."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.visit_kit import MAP, VALUES, desk, reading

from asfound.calc.reading_merge import add_photos, replace_pages
from asfound.errors import UsageError
from asfound.model.reading import FieldReading, PhotoReading, Reading, State

PAGE_OF = {row.id: page.id for page in MAP.pages for row in page.fields}
ROWS = MAP.fields_in("1.0")


@st.composite
def readings(draw: st.DrawFn) -> Reading:
    """Any reading of the small map: some pages photographed, values "x" or "y", or doubts."""
    pages = draw(st.sets(st.sampled_from([page.id for page in MAP.pages])))
    fields = []
    for row in ROWS:
        seen = PAGE_OF[row.id] in pages
        state = draw(st.sampled_from(list(State))) if seen else State.UNREAD
        value = draw(st.sampled_from(["x", "y"])) if state is State.SURE else None
        options = draw(st.sampled_from([("x",), ("y", "z")])) if state is State.DOUBT else ()
        fields.append(FieldReading(row.id, row.label, "", value, state, options))
    photos = tuple(PhotoReading(f"{page}.jpg", page, page, 0.1, ()) for page in sorted(pages))
    missing = tuple(page.id for page in MAP.pages if page.id not in pages)
    return Reading(MAP.id, "1.0", photos, tuple(fields), missing)


@given(readings(), readings())
def test_added_photographs_make_sure_only_what_one_shows_and_none_denies(
    before: Reading, more: Reading
) -> None:
    both = add_photos(MAP, before, more)
    for old, new, made in zip(before.fields, more.fields, both.fields, strict=True):
        said = {item.value for item in (old, new) if item.state is State.SURE}
        if made.state is State.SURE:
            assert said == {made.value}
        assert (made.state is State.SURE) == (len(said) == 1)
        assert (made.state is State.UNREAD) == (old.state is new.state is State.UNREAD)
        if made.state is State.DOUBT:
            assert said <= {*made.candidates}
    assert set(both.missing_pages) == set(before.missing_pages) & set(more.missing_pages)
    assert len(both.photos) == len(before.photos) + len(more.photos)
    twice = {photo.page for photo in before.photos} & {photo.page for photo in more.photos}
    assert set(both.repeated_pages) == twice


@given(readings(), readings())
def test_a_page_photographed_again_is_taken_whole(before: Reading, after: Reading) -> None:
    both = replace_pages(MAP, before, after)
    again = {photo.page for photo in after.photos}
    for old, new, made in zip(before.fields, after.fields, both.fields, strict=True):
        assert made == (new if PAGE_OF[made.id] in again else old)


def test_readings_of_different_firmware_are_not_mixed(tmp_path: Path) -> None:
    one = reading(VALUES, desk(tmp_path))
    with pytest.raises(UsageError, match="as one set"):
        add_photos(MAP, one, replace(one, firmware="2.0"))
    with pytest.raises(UsageError):
        replace_pages(MAP, one, replace(one, map_id="other"))
