"""What a version changes in the settings, and what becomes of agreed values."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from tests.visit_kit import MAP

from asfound.errors import NotFound
from asfound.jobs.rollout_changes import (
    Agreed,
    Change,
    Changes,
    Effect,
    RolloutChanges,
    rollout_changes,
)
from asfound.model.fleet import Standard
from asfound.model.kinds import Choice, Number, ReadOnly, Switch, Text
from asfound.model.menu_map import Field, MenuMap, Page

HOLD = Number(Decimal(1), Decimal(9), unit="s")
MENU = replace(
    MAP,
    pages=(
        Page("one", "One", (
            Field("same", "Same", Switch(), "off"),
            Field("old", "Old", Switch(), "off", until="2.0"),
            Field("rate", "Rate", Choice(("15", "25")), "15", (("2.0", "25"),)),
            Field("mode", "Mode", Choice(("A", "B", "C")), "A", until="2.0"),
            Field("way", "Way", Choice(("A", "B")), "A", since="2.0", was="mode"),
            Field("hold", "Hold", HOLD, "3", since="2.0"),
            Field("version", "Version", ReadOnly("version"), since="2.0"),
            Field("name", "Name", Text(8), ""),
        )),
    ),
)  # fmt: skip


def changed(
    agreed: dict[str, str] | None = None, menu: MenuMap = MENU, back: bool = False
) -> Changes:
    who = () if agreed is None else (Agreed("all", Standard(menu.id, agreed, {})),)
    old, new = ("2.0", "1.0") if back else ("1.0", "2.0")
    return rollout_changes(RolloutChanges(menu, old, new, who))


def test_every_kind_of_change() -> None:
    told = [(one.change, one.id, one.before, one.after) for one in changed().fields]
    # Worked out by hand from the menu above.
    assert told == [
        (Change.REMOVED, "old", "One, in row 2", ""),
        (Change.DEFAULT, "rate", "15", "25"),
        (Change.MOVED, "rate", "One, in row 3", "One, in row 2"),
        (Change.RENAMED, "way", "mode", "way"),
        (Change.ALLOWED, "way", "A, B, C", "A, B"),
        (Change.MOVED, "way", "One, in row 4", "One, in row 3"),
        (Change.ADDED, "hold", "", "One, in row 4"),
    ]


def test_back_again_is_the_other_way_round() -> None:
    told = {(one.change, one.id) for one in changed(back=True).fields}
    assert (Change.ADDED, "old") in told and (Change.REMOVED, "hold") in told
    assert (Change.RENAMED, "mode") in told and (Change.DEFAULT, "rate") in told


@pytest.mark.parametrize(
    ("agreed", "want"),
    [
        ({"old": "on"}, [(Effect.LOST, "old", "on")]),
        ({"rate": "15"}, [(Effect.KEY, "rate", "15")]),
        ({"rate": "25"}, [(Effect.KEPT, "rate", "25")]),
        ({"mode": "B"}, [(Effect.CARRIED, "way", "B")]),
        ({"mode": "C"}, [(Effect.REFUSED, "way", "C")]),
        ({"hold": "5"}, [(Effect.KEY, "hold", "5")]),
        ({"hold": "3"}, []),
        ({"same": "on", "name": "X"}, []),
    ],
)
def test_what_it_does_to_agreed_values(
    agreed: dict[str, str], want: list[tuple[Effect, str, str]]
) -> None:
    made = [(one.effect, one.id, one.value) for one in changed(agreed).agreed]
    nobody = [] if "hold" in agreed else [(Effect.NOBODY, "hold", "")]
    assert made == [*want, *nobody]


def test_the_same_version_changes_nothing() -> None:
    who = (Agreed("all", Standard(MENU.id, {"rate": "25", "mode": "C"}, {})),)
    assert rollout_changes(RolloutChanges(MENU, "1.0", "1.0", who)) == Changes((), ())


def test_classes_overrides_and_what_was_left() -> None:
    standard = Standard(MENU.id, {"rate": "15"}, {"city": {"rate": "25"}})
    city = Agreed("city", standard, "city")
    own = Agreed("own", standard, "city", {"rate": "15"}, {"mode": "B"})
    made = rollout_changes(RolloutChanges(MENU, "1.0", "2.0", (city, own))).agreed
    assert [(one.who, one.effect, one.id) for one in made] == [
        ("city", Effect.KEPT, "rate"), ("city", Effect.NOBODY, "hold"),
        ("own", Effect.KEY, "rate"), ("own", Effect.CARRIED, "way"), ("own", Effect.NOBODY, "hold"),
    ]  # fmt: skip


def test_a_version_that_the_map_does_not_describe() -> None:
    with pytest.raises(NotFound, match=r"does not describe firmware '3\.0'"):
        rollout_changes(RolloutChanges(MENU, "1.0", "3.0"))
