"""Headings: groups, repeated pages, misread letters. Common practice, no source."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from asfound.calc.draft_titles import (
    alike,
    camera_of,
    numbered,
    overlap,
    same_title,
    split_groups,
    title_key,
)


def test_a_group_is_what_several_headings_share() -> None:
    headings = ["Links > Cable", "Links > Radio", "Device > Time", "Links >Office"]
    split = split_groups(headings)
    assert split["Links > Cable"] == ("Links", "Cable")
    assert split["Links >Office"] == ("Links", "Office")
    assert split["Device > Time"] == ("Device", "Time")


def test_an_overlooked_sign_is_made_good_by_the_others() -> None:
    split = split_groups(["Links: Cable", "Links: Radio", "Links Office"])
    assert split["Links Office"] == ("Links", "Office")


def test_without_the_habit_there_are_no_groups() -> None:
    headings = ["Clock", "In / out", "Speed", "Power"]
    assert split_groups(headings) == {heading: (None, heading) for heading in headings}


def test_camera_numbers() -> None:
    assert camera_of("Camera 3") == ("Camera {n}", 3)
    assert camera_of("Channel 04") == ("Channel {n}", 4)
    assert camera_of("Camera l") == ("Camera {n}", 1)
    assert camera_of("Camera 3 of 8") is None
    assert camera_of("Recording") is None
    assert numbered("Camera 3 name", 3) == "Camera {n} name"
    assert numbered("Input 13", 3) == "Input 13"


def test_titles_that_differ_in_a_figure_are_different() -> None:
    assert same_title("Recording", "Recordlng")
    assert same_title("Camera l", "Camera 1")
    assert not same_title("Camera 1", "Camera 2")
    assert title_key("Camera O") == "camera0"
    assert alike("Input 1 name", "Input 2 name") == 0.0
    assert overlap(["Name", "Size"], ["Name", "Size", "Rate"]) == 1.0


@given(st.lists(st.text(min_size=1, max_size=20), max_size=6))
def test_every_heading_comes_back(headings: list[str]) -> None:
    split = split_groups(headings)
    assert set(split) == set(headings)
