"""Which settings changed when: in a visit, between two, or one of both."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.visit_kit import MAP, T0, VALUES, VEHICLE, desk, opened, procedure, reading

from asfound.jobs.settings_history import Moment, settings_history
from asfound.jobs.visit_journal import Desk
from asfound.model.reading import FieldReading, Reading, State
from asfound.model.visit import Round, Settled, VisitState


@pytest.fixture
def at(tmp_path: Path) -> Desk:
    return desk(tmp_path)


def closed(
    at: Desk,
    found: Mapping[str, str] | None,
    left: Mapping[str, str] | None,
) -> VisitState:
    """A closed visit that found and left these values; None: not read."""
    state = opened(at)
    rounds = () if left is None else (Round(reading(left, at)),)
    return replace(
        state,
        as_found=None if found is None else reading(found, at),
        rounds=rounds,
        closed_by="bo",
        closed_at=datetime(2026, 11, 26, tzinfo=UTC),
    )


def told(at: Desk, *visits: VisitState) -> list[list[tuple[str, str, str, Moment]]]:
    return [
        [(one.field, one.before, one.after, one.moment) for one in item.changes]
        for item in settings_history(visits)
    ]


def test_changes_in_a_visit_and_between_two(at: Desk) -> None:
    off = VALUES | {"camera-1.record": "off"}
    small = VALUES | {"camera-1.size": "CIF"}
    first = closed(at, VALUES, small)  # the visit itself set the size
    second = closed(at, small | {"camera-1.record": "off"}, off)  # somebody switched it off
    third = closed(at, off, off)
    assert told(at, first, second, third) == [
        [("camera-1.size", "HD", "CIF", Moment.VISIT)],
        [
            ("camera-1.record", "on", "off", Moment.BETWEEN),
            ("camera-1.size", "CIF", "HD", Moment.VISIT),
        ],
        [],
    ]
    assert [item.first for item in settings_history((first, second))] == [True, False]


def test_what_was_not_read_as_found_changed_at_either_time(at: Desk) -> None:
    before = closed(at, VALUES, VALUES)
    after = closed(at, None, VALUES | {"camera-1.record": "off"})
    assert told(at, before, after)[1] == [("camera-1.record", "on", "off", Moment.EITHER)]


def test_what_is_not_known_makes_no_change(at: Desk) -> None:
    known = closed(at, VALUES, VALUES)
    doubtful = reading(VALUES, at, doubts={"camera-1.size": ("CIF", "HD")})
    unsure = replace(closed(at, VALUES, VALUES), rounds=(Round(doubtful),))
    made = settings_history((known, unsure, known))
    assert [item.changes for item in made] == [(), (), ()]
    assert (made[1].known, made[1].unknown) == (len(VALUES) - 1, 1)
    # Settled by a person it is known, and counts.
    by_hand = Settled("camera-1.size", "CIF", "ada", T0)
    settled = replace(unsure, rounds=(Round(doubtful, (by_hand,)),))
    assert told(at, known, settled)[1] == [("camera-1.size", "HD", "CIF", Moment.VISIT)]


def test_a_visit_that_read_nothing_as_left_says_so_and_breaks_nothing(at: Desk) -> None:
    first = closed(at, VALUES, VALUES)
    blind = closed(at, None, None)
    last = closed(at, VALUES | {"general.name": "BA"}, VALUES)
    made = settings_history((first, blind, last))
    assert [item.read for item in made] == [True, False, True]
    assert [one.moment for one in made[2].changes] == [Moment.BETWEEN, Moment.VISIT]


def test_fields_that_are_no_settings_are_left_out(at: Desk) -> None:
    first = closed(at, VALUES, VALUES)
    second = closed(at, VALUES | {"general.name": "BA"}, VALUES | {"general.name": "BA"})
    assert settings_history((first, second), {"general.name"})[1].changes == ()


@given(st.lists(st.sampled_from(["CIF", "HD"]), min_size=1, max_size=6))
def test_changes_lead_from_the_first_to_the_last(sizes: list[str]) -> None:
    # Whatever happened: laid one behind the other, the changes are the setting's whole way.
    value = sizes[0]
    for item in settings_history([_left_only(size) for size in sizes]):
        for change in item.changes:
            assert (change.field, change.before) == ("camera-1.size", value)
            value = change.after
    assert value == sizes[-1]


def _left_only(size: str) -> VisitState:
    """A visit of which only the size as left is known."""
    field = FieldReading("camera-1.size", "Size", size, size, State.SURE)
    left = Round(Reading(MAP.id, "1.0", (), (field,), ()))
    bare = VisitState("v", VEHICLE, "Brindlemere", procedure(), "ada", T0, "1.0", "1.0")
    return replace(bare, rounds=(left,))
