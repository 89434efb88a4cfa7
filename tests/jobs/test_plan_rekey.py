"""The re-key sheet against a walker of the menu (tests/walker.py), which shares no code with it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from tests.small_maps import FIRMWARE, part_plans, plans, random_values
from tests.walker import State, Walker, fewest

from asfound.errors import InputError, NotFound, UsageError
from asfound.jobs.plan_rekey import PlanRekey, plan_rekey
from asfound.model.kinds import Choice, Date, Secret, Switch, Text
from asfound.model.menu_map import Field, Keyboard, Keys, MenuMap, Page
from asfound.model.rekey import KeyRun, RekeySheet
from asfound.model.target import Origin, Target, TargetValue
from asfound.ports.backends.map_toml import load_map, shipped_map_paths

SHIPPED = {name: load_map(path) for name, path in shipped_map_paths().items()}


def target_of(menu_map: MenuMap, firmware: str, values: dict[str, str]) -> Target:
    items = tuple(TargetValue(name, value, Origin.OVERRIDE) for name, value in values.items())
    return Target(menu_map.id, firmware, items)


def press_all(walker: Walker, state: State, runs: tuple[KeyRun, ...]) -> State:
    for run in runs:
        for _ in range(run.times):
            state = walker.press(state, run.key)
    return state


def replayed(menu_map: MenuMap, firmware: str, sheet: RekeySheet) -> dict[str, str | None]:
    """What is stored after a person has done what the sheet says, from factory defaults."""
    walker = Walker(menu_map, firmware)
    state = walker.opened(menu_map.default(field, firmware) for field in walker.fields)
    for page in sheet.pages:
        state = press_all(walker, state, page.reach)
        for row in page.fields:
            state = press_all(walker, state, row.move)
            under_cursor = walker.stops[state.page][state.row]
            assert under_cursor == walker.number[row.id]
            if row.by_hand:
                state = walker.by_hand(state, row.to_value)
            state = press_all(walker, state, row.change)
        state = press_all(walker, state, page.save)
    return {field.id: state.stored[walker.number[field.id]] for field in walker.fields}


@pytest.mark.parametrize("name", SHIPPED)
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.large_base_example])
@given(data=st.data())
def test_a_replayed_sheet_leaves_exactly_the_target(name: str, data: st.DataObject) -> None:
    menu_map = SHIPPED[name]
    firmware = data.draw(st.sampled_from(menu_map.firmware))
    values = data.draw(random_values(menu_map, firmware))
    sheet = plan_rekey(PlanRekey(menu_map, firmware, target_of(menu_map, firmware, values)))
    stored = replayed(menu_map, firmware, sheet)
    for field in menu_map.fields_in(firmware):
        assert stored[field.id] == values.get(field.id, menu_map.default(field, firmware))
    assert sheet.presses == sum(page.presses for page in sheet.pages)


def constraint(
    menu_map: MenuMap, walker: Walker, values: dict[str, str]
) -> Callable[[State], bool]:
    """Fields change one after the other in menu order, a value that opens is accepted only when it
    is the target's, and a page is stored whole or not at all."""
    at_once = {"choice", "switch", "number", "level"} if menu_map.keys.edit == "direct" else set()
    defaults = [field.default for field in walker.fields]
    goal = [values.get(field.id, field.default) for field in walker.fields]
    differing = [n for n, value in enumerate(goal) if value != defaults[n]]
    still = [n for n in range(len(goal)) if n not in differing]
    by_page = [[n for n in stops if n in differing] for stops in walker.stops]

    known: dict[tuple[object, object], bool] = {}

    def allowed(state: State) -> bool:
        values_now = (state.stored, state.shown)
        if values_now not in known:
            known[values_now] = judged(state)
        return known[values_now]

    def judged(state: State) -> bool:
        if any(state.shown[n] != defaults[n] for n in still):
            return False
        done = 0
        while done < len(differing) and state.shown[differing[done]] == goal[differing[done]]:
            done += 1
        if any(state.shown[n] != defaults[n] for n in differing[done + 1 :]):
            return False
        if done < len(differing):
            n = differing[done]
            if state.shown[n] != defaults[n] and walker.fields[n].type.kind not in at_once:
                return False
        return all(
            all(state.stored[n] == defaults[n] for n in page)
            or all(state.stored[n] == goal[n] for n in page)
            for page in by_page
        )

    return allowed


def brute_force(plan: tuple[MenuMap, Target]) -> None:
    """The sheet against a search over every key at every moment."""
    menu_map, target = plan
    sheet = plan_rekey(PlanRekey(menu_map, FIRMWARE, target))
    stored = replayed(menu_map, FIRMWARE, sheet)
    values = target.as_dict()
    assert stored == {
        field.id: values.get(field.id, field.default) for field in menu_map.fields_in(FIRMWARE)
    }
    walker = Walker(menu_map, FIRMWARE)
    start = walker.opened(field.default for field in walker.fields)
    goal = tuple(values.get(field.id, field.default) for field in walker.fields)
    allowed = constraint(menu_map, walker, values)
    found = fewest(walker, start, lambda state: state.stored == goal, allowed, sheet.presses)
    assert found == sheet.presses


@settings(max_examples=200, deadline=None, suppress_health_check=list(HealthCheck))
@given(plan=plans())
def test_no_sequence_of_keys_is_shorter(plan: tuple[MenuMap, Target]) -> None:
    brute_force(plan)


@settings(max_examples=30, deadline=None, suppress_health_check=list(HealthCheck))
@given(plan=part_plans())
def test_nothing_sets_a_time_date_or_address_sooner(plan: tuple[MenuMap, Target]) -> None:
    menu_map, target = plan
    # Twelve digits in any state are too many to search much deeper.
    assume(plan_rekey(PlanRekey(menu_map, FIRMWARE, target)).presses <= 11)
    brute_force(plan)


KEYS = Keys(
    layout="flat",
    up="Up",
    down="Down",
    left="Left",
    right="Right",
    ok="Set",
    back="Exit",
    minus="-",
    plus="+",
    next_page="Page >",
    previous_page="< Page",
    next_part="Right",
    previous_part="Left",
    row_wrap=True,
    value_wrap=True,
)


def map_of(keys: Keys, *pages: tuple[Field, ...]) -> MenuMap:
    named = tuple(Page(f"p{n}", f"Page {n}", rows, None) for n, rows in enumerate(pages))
    return MenuMap("small", "Small", "Small", 1, ("1", "2"), named, keys)


def test_a_sheet_worked_out_by_hand() -> None:
    """Page 1: nothing. Page 2: one row down, d is one step back from a round the end, store."""
    letters = Choice(("a", "b", "c", "d"))
    rows = (Field("x", "X", Switch(), "on"), Field("y", "Y", letters, "a"))
    menu_map = map_of(KEYS, (Field("w", "W", Switch(), "off"),), rows)
    sheet = plan_rekey(PlanRekey(menu_map, "1", target_of(menu_map, "1", {"w": "off", "y": "d"})))
    (page,) = sheet.pages
    assert (page.id, page.number) == ("p1", 2)
    assert page.reach == (KeyRun("Page >", 1),)
    assert page.fields[0].move == (KeyRun("Down", 1),)
    assert page.fields[0].change == (KeyRun("-", 1),)
    assert page.save == (KeyRun("Down", 1), KeyRun("Set", 1))
    assert sheet.presses == 5
    # 1 field x 1.35 s + 5 runs x 0.50 s (keystroke-level model, see sources.py)
    assert sheet.seconds == pytest.approx(1.35 + 5 * 0.50)


def test_what_only_a_person_knows_is_set_by_hand() -> None:
    board = Keyboard((("a", "DELETE", "DONE"),))
    rows = (
        Field("code", "Code", Secret(), "set"),
        Field("pin", "PIN", Secret(), "blank"),
        Field("odd", "Odd", Switch()),
        Field("name", "Name", Text(), ""),
        Field("day", "Day", Date(), "1999-01-01"),
    )
    menu_map = map_of(replace(KEYS, keyboard=board), rows)
    values = {"code": "set", "pin": "blank", "odd": "on", "name": "ä", "day": "2026-01-01"}
    sheet = plan_rekey(PlanRekey(menu_map, "1", target_of(menu_map, "1", values)))
    fields = {field.id: field for field in sheet.pages[0].fields}
    assert set(fields) == {"code", "odd", "name", "day"}
    assert all(field.by_hand and not field.change and field.note for field in fields.values())
    assert replayed(menu_map, "1", sheet) == values


def test_a_secret_the_factory_sets_is_emptied_by_hand() -> None:
    menu_map = map_of(KEYS, (Field("code", "Code", Secret(), "set"),))
    sheet = plan_rekey(PlanRekey(menu_map, "1", target_of(menu_map, "1", {"code": "blank"})))
    assert sheet.pages[0].fields[0].note == "empty it"


def test_nothing_to_do_is_an_empty_sheet() -> None:
    menu_map = map_of(KEYS, (Field("w", "W", Switch(), "off"),))
    sheet = plan_rekey(PlanRekey(menu_map, "1", target_of(menu_map, "1", {"w": "off"})))
    assert (sheet.pages, sheet.presses, sheet.seconds) == ((), 0, 0.0)


def test_what_firmware_changed_is_listed_apart() -> None:
    rows = (
        Field("old", "Old", Switch(), "off", until="2"),
        Field("new", "New", Switch(), "off", since="2", was="old"),
        Field("gone", "Gone", Switch(), "off", until="2"),
        Field("fresh", "Fresh", Switch(), "off", since="2"),
        Field("clock", "Clock", Date(), volatile=True),
    )
    menu_map = map_of(KEYS, rows)
    target = replace(target_of(menu_map, "2", {"new": "on"}), unknown=("fresh",))
    sheet = plan_rekey(PlanRekey(menu_map, "2", target, as_found_firmware="1"))
    assert (sheet.added, sheet.removed) == (("fresh",), ("gone",))
    assert sheet.renamed == (("old", "new"),)
    assert (sheet.volatile, sheet.unknown) == (("clock",), ("fresh",))
    back = plan_rekey(PlanRekey(menu_map, "1", target_of(menu_map, "1", {"old": "on"}), "2"))
    assert (back.added, back.removed, back.renamed) == (("gone",), ("fresh",), (("new", "old"),))


def test_targets_that_do_not_fit_are_refused() -> None:
    rows = (Field("w", "W", Switch(), "off", until="2"), Field("n", "N", Choice(("a",)), "a"))
    menu_map = map_of(KEYS, rows)
    cases: list[tuple[Target, type[Exception]]] = [
        (target_of(menu_map, "1", {}), UsageError),
        (replace(target_of(menu_map, "2", {}), map_id="other"), UsageError),
        (target_of(menu_map, "2", {"nothing": "on"}), NotFound),
        (target_of(menu_map, "2", {"w": "on"}), InputError),
        (target_of(menu_map, "2", {"n": "b"}), InputError),
    ]
    for target, wrong in cases:
        with pytest.raises(wrong, match=";"):
            plan_rekey(PlanRekey(menu_map, "2", target))
