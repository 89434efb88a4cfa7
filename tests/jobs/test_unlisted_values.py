"""A value that a draft does not list goes the whole way: target, sheet, comparison."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest

from asfound.errors import InputError
from asfound.jobs.build_target import BuildTarget, build_target
from asfound.jobs.compare import Compare, compare
from asfound.jobs.plan_rekey import PlanRekey, plan_rekey
from asfound.model.difference import Verdict
from asfound.model.fleet import Standard
from asfound.model.kinds import Choice, Switch
from asfound.model.menu_map import Field, Keys, MenuMap, Page
from asfound.model.reading import FieldReading, Reading, State

KEYS = Keys("flat", "U", "D", "L", "R", "OK", "B", "-", "+", "N", "P")
SIZE = Field("size", "Size", Choice(("CIF", "HD")), "CIF", drafted=("options",))
TONE = Field("tone", "Tone", Switch(), "off")
DRAFT = MenuMap("m", "M", "M", 1, ("1",), (Page("p", "P", (SIZE, TONE)),), KEYS)
CLOSED = replace(DRAFT, pages=(Page("p", "P", (replace(SIZE, drafted=()), TONE)),))
FOUND = {"size": "QVGA", "tone": "on"}


def built(menu_map: MenuMap, standard: Mapping[str, str]) -> BuildTarget:
    return BuildTarget(menu_map, "1", Standard("m", standard, {}), "any", {}, FOUND, "1")


def test_what_was_found_is_agreed_and_set_by_hand() -> None:
    target = build_target(built(DRAFT, {}))
    assert target.as_dict() == FOUND and target.unknown == ()
    (page,) = plan_rekey(PlanRekey(DRAFT, "1", target)).pages
    size, tone = page.fields
    assert size.by_hand and size.change == () and "drafted map does not list" in size.note
    assert not tone.by_hand and tone.change
    # A default that is not listed either cannot be stepped away from.
    odd = replace(SIZE, default="QVGA")
    other = replace(DRAFT, pages=(Page("p", "P", (odd, TONE)),))
    wanted = replace(target, values=tuple(replace(v, value="HD") for v in target.values[:1]))
    assert plan_rekey(PlanRekey(other, "1", wanted)).pages[0].fields[0].by_hand


def test_as_left_it_counts_as_the_same() -> None:
    target = build_target(built(DRAFT, {}))
    read = (
        FieldReading("size", "Size", "QVGA", "QVGA", State.DOUBT, ("QVGA", "CIF")),
        FieldReading("tone", "Tone", "On", "on", State.SURE),
    )
    left = Reading("m", "1", (), read, ())
    for settled, verdict in (({}, Verdict.DOUBT), ({"size": "QVGA"}, Verdict.SAME)):
        difference = compare(Compare(DRAFT, "1", target, left, settled))
        assert difference.fields[0].verdict is verdict
    with pytest.raises(InputError, match="'QVGA' is not one of"):
        compare(Compare(CLOSED, "1", target, left, {"size": "QVGA"}))


def test_without_a_draft_it_is_no_target_and_a_standard_never_is() -> None:
    assert build_target(built(CLOSED, {})).unknown == ("size",)
    with pytest.raises(InputError, match="'VGA' is not one of"):
        build_target(built(DRAFT, {"size": "VGA"}))
