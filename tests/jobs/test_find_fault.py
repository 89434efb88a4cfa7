"""Finding faults with the shipped guide: what a technician would expect, and what must hold."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asfound.errors import NotFound, UsageError
from asfound.jobs.ask_fault import AskFault, ask_fault, ask_sure, typed
from asfound.jobs.fault_tables import FaultTables, fault_tables
from asfound.jobs.find_fault import (
    SURE,
    Evidence,
    FaultVerdict,
    FaultView,
    FindFault,
    chances_of,
    find_fault,
    next_checks,
)
from asfound.model.fault_guide import NO, OTHER, UNCLEAR, YES
from asfound.ports.backends.cautions_toml import load_cautions
from asfound.ports.backends.faults_toml import SHIPPED, load_faults

GUIDE = load_faults(SHIPPED, load_cautions())
TABLES: FaultTables = fault_tables(GUIDE)


def seen(*symptoms: str, checked: tuple[str, ...] = (), tried: tuple[str, ...] = ()) -> FaultView:
    evidence = ask_fault(AskFault(symptoms, (), checked, tried), GUIDE)
    return find_fault(FindFault(TABLES, evidence))


# --- what a technician expects (common practice, no source) --------------------------------


@pytest.mark.parametrize(
    ("symptoms", "first"),
    [
        (("no-power-light",), {"fuse"}),
        (("resets-while-cranking",), {"vehicle-battery"}),
        (("one-camera-dark",), {"camera", "camera-cable", "camera-plug", "channel-setting"}),
        (("all-cameras-dark", "no-power-light"), {"fuse", "converter", "ignition-lead"}),
        (("no-drive",), {"drive-lock", "drive"}),
        (("clock-wrong-after-reset",), {"clock-cell"}),
        (("clock-wrong-by-hours",), {"clock-setting"}),
        (("settings-lost",), {"firmware", "clock-cell"}),
        (("no-position",), {"antenna-lead"}),
        (("dark-at-night",), {"night-lamps"}),
        (("no-run-on",), {"isolator-feed"}),
        (("not-reachable",), {"mobile-card", "fuse"}),
    ],
)
def test_the_likeliest_cause_of_each_symptom(symptoms: tuple[str, ...], first: set[str]) -> None:
    assert seen(*symptoms).causes[0].cause.id in first


def test_a_blown_fuse_is_sure_enough_and_says_how_it_is_repaired() -> None:
    found = seen("no-power-light", checked=("look-at-fuse=blown",))
    assert found.verdict is FaultVerdict.SURE and found.repair.id == "fuse"
    assert found.causes[0].chance > SURE and "Find out why it blew" in found.repair.repair
    assert found.repair.cautions == ("battery",)


def test_a_dark_camera_is_followed_to_its_plug() -> None:
    found = seen("one-camera-dark")
    assert found.verdict is FaultVerdict.CHECK
    assert {check.question.id for check in found.checks[:2]} == {
        "channel-page", "swap-camera-inputs",
    }  # fmt: skip
    steps = ("channel-page=right", "swap-camera-inputs=moves", "open-camera-plug=bad")
    assert seen("one-camera-dark", checked=steps).causes[0].cause.id == "camera-plug"


def test_what_was_repaired_in_vain_is_out() -> None:
    before = seen("no-power-light", checked=("look-at-fuse=blown",))
    after = seen("no-power-light", checked=("look-at-fuse=blown",), tried=("fuse",))
    assert before.causes[0].cause.id == "fuse"
    assert all(one.chance == 0 for one in after.causes if one.cause.id == "fuse")
    everything = tuple(cause.id for cause in GUIDE.causes if cause.id != OTHER)
    last = seen("no-power-light", tried=everything)
    assert last.verdict is FaultVerdict.UNLISTED and last.causes[0].chance == pytest.approx(1)
    assert last.checks == () and "none of the causes listed" in last.note


def test_ways_and_tools_are_paid_once() -> None:
    first = seen("no-power-light")
    there = seen("no-power-light", checked=("converter-output=right",))
    before = next(one for one in first.checks if one.question.id == "supply-at-plug")
    after = next(one for one in there.checks if one.question.id == "supply-at-plug")
    # Three minutes of way to the recorder, one for the meter (data/faults.toml).
    assert (before.minutes, after.minutes) == (9, 5)


def test_when_no_check_is_worth_its_minutes_the_cheapest_repair_is_tried() -> None:
    found = seen("no-drive", checked=("look-at-drive-lock=shut", "drive-page=not-formatted"))
    assert found.verdict in (FaultVerdict.SURE, FaultVerdict.TRY)
    assert found.repair.id == "drive-format"
    hinted = seen("clock-wrong-by-hours", checked=("clock-page=wrong",))
    assert hinted.verdict is FaultVerdict.SURE and hinted.repair.id == "clock-setting"


# --- what must hold --------------------------------------------------------------------------

STEPS = st.lists(
    st.sampled_from(GUIDE.questions).flatmap(
        lambda item: st.tuples(
            st.just(item.id), st.sampled_from([*(one.id for one in item.outcomes), UNCLEAR])
        )
    ),
    max_size=8,
    unique_by=lambda step: step[0],
)


@settings(max_examples=60)
@given(STEPS, st.randoms())
def test_any_evidence_gives_chances_whatever_its_order(steps, shuffle) -> None:  # type: ignore[no-untyped-def]
    found = find_fault(FindFault(TABLES, Evidence((), tuple(steps))))
    assert sum(one.chance for one in found.causes) == pytest.approx(1)
    assert {one.cause.id for one in found.causes} == {cause.id for cause in GUIDE.causes}
    assert all(0 < one.chance < 1 and 0 < one.low < one.high < 1 for one in found.causes)
    for check in found.checks:
        assert 0 < check.bits <= found.bits and check.minutes > 0
        assert sum(check.chances) == pytest.approx(1)
    ranks = [check.bits_a_minute for check in found.checks]
    assert all(a >= b - 1e-8 for a, b in pairwise(ranks))
    asked = {name for name, _ in steps}
    assert asked.isdisjoint(check.question.id for check in found.checks)
    shuffle.shuffle(steps)
    again = chances_of(TABLES, Evidence((), tuple(steps)))
    assert (again == chances_of(TABLES, Evidence(tuple(steps)))).all()


@settings(max_examples=30)
@given(STEPS)
def test_could_not_tell_changes_no_chance(steps) -> None:  # type: ignore[no-untyped-def]
    told = tuple(step for step in steps if step[1] != UNCLEAR)
    assert (chances_of(TABLES, Evidence(tuple(steps))) == chances_of(TABLES, Evidence(told))).all()
    unclear = Evidence(tuple((name, UNCLEAR) for name, _ in steps))
    assert chances_of(TABLES, unclear) == pytest.approx(TABLES.prior)
    left = next_checks(TABLES, unclear, chances_of(TABLES, unclear))
    assert {name for name, _ in steps}.isdisjoint(one.question.id for one in left)


# --- texts ------------------------------------------------------------------------------------


@settings(max_examples=60)
@given(STEPS)
def test_texts_come_back_as_they_were(steps) -> None:  # type: ignore[no-untyped-def]
    evidence = Evidence((("gaps", YES), ("no-drive", NO)), tuple(
        step for step in steps if step[0] not in ("gaps", "no-drive")
    ), ("fuse",))  # fmt: skip
    assert ask_fault(typed(evidence), GUIDE) == evidence


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        (AskFault(["no-power-lite"]), "no symptom 'no-power-lite'; did you mean no-power-light?"),
        (AskFault(["look-at-fuse"]), "no symptom 'look-at-fuse'"),
        (AskFault(["qqq"]), "`asfound fault list` shows all of them"),
        (AskFault(checked=["look-at-fuse"]), "write a check and its outcome"),
        (AskFault(checked=["look-at-fuse="]), "write a check and its outcome"),
        (AskFault(checked=["look-at-fuse=melted"]), "there are whole, blown, could-not-tell"),
        (AskFault(checked=["fusebox=blown"]), "no check 'fusebox'"),
        (AskFault(tried=["something-else"]), "no cause 'something-else'"),
        (AskFault(["gaps"], ["gaps"]), "gaps was given with two outcomes"),
        (AskFault(["gaps", "gaps"]), "gaps was given twice"),
        (AskFault(["gaps"], checked=["gaps=yes"]), "gaps was given twice"),
        (AskFault(["gaps"] * 201), "more than 200"),
    ],
)
def test_what_is_off_is_said_in_one_line(asked: AskFault, says: str) -> None:
    with pytest.raises(UsageError) as told:
        ask_fault(asked, GUIDE)
    assert says in str(told.value) and "\n" not in str(told.value)


@given(st.text(), st.text())
def test_any_text_is_taken_or_refused(name: str, outcome: str) -> None:
    try:
        ask_fault(AskFault([name], [], [f"{name}={outcome}"], [outcome]), GUIDE)
    except UsageError as error:
        assert str(error)


def test_sure_is_a_share() -> None:
    assert ask_sure("") == SURE and ask_sure(" 95% ") == 0.95 and ask_sure("95") == 0.95
    for text in ("much", "100%", "49%", "nan", "inf", "-90"):
        with pytest.raises(UsageError, match="write 90%"):
            ask_sure(text)


def test_ids_that_the_guide_does_not_know_are_refused() -> None:
    with pytest.raises(NotFound):
        find_fault(FindFault(TABLES, Evidence((("dragon", YES),))))
    with pytest.raises(NotFound):
        find_fault(FindFault(TABLES, Evidence((), (), ("dragon",))))
