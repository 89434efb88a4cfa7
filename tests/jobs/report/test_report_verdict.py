"""The verdict is never better than what is known. Expected words follow from DESIGN rule 1:
"could not tell" is its own verdict and never counts as fine."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from asfound.jobs.report_verdict import verdict_data
from asfound.model.difference import Verdict
from asfound.model.finding import Proof, ProofVerdict
from asfound.model.visit import VisitState

CHANNELS = tuple(range(1, 9))


@pytest.fixture
def good(scene: Any) -> VisitState:
    """The visit without fault, doubt, hold or override."""
    state: VisitState = scene.state
    assert state.proof is not None
    clean = tuple(replace(rec, findings=(), unclear=()) for rec in state.proof.recordings)
    return replace(
        state, proof=Proof(ProofVerdict.RECORDS, clean), overrides=(), holds=(),
    )  # fmt: skip


def said(state: VisitState) -> tuple[str, str, dict[str, tuple[str, str]]]:
    made: Any = verdict_data(state, CHANNELS)
    points = {p["question"]: (p["tone"], p["answer"]) for p in made["points"]}
    return made["tone"], made["headline"], points


SETTINGS = "Are all settings as agreed?"
RECORDS = "Does each camera record?"


def with_verdict(state: VisitState, verdict: Verdict, count: int) -> VisitState:
    last = state.rounds[-1]
    assert last.difference is not None
    fields = list(last.difference.fields)
    same = [i for i, item in enumerate(fields) if item.verdict is Verdict.SAME][:count]
    for index in same:
        fields[index] = replace(fields[index], verdict=verdict)
    changed = replace(last, difference=replace(last.difference, fields=tuple(fields)))
    return replace(state, rounds=(*state.rounds[:-1], changed))


def test_a_faultless_closed_visit_is_as_agreed(good: VisitState) -> None:
    tone, headline, points = said(good)
    assert (tone, headline) == ("good", "Everything is as agreed.")
    assert {t for t, _ in points.values()} == {"good"}
    assert points[RECORDS][1].startswith("Yes: all 8 cameras record")


@pytest.mark.parametrize("verdict", [Verdict.WRONG, Verdict.MISSED, Verdict.EXTRA])
def test_a_setting_that_is_off_is_bad(good: VisitState, verdict: Verdict) -> None:
    tone, headline, points = said(with_verdict(good, verdict, 1))
    assert (tone, headline) == ("bad", "Not everything is as agreed.")
    assert points[SETTINGS][1].startswith("No: 1 setting is not as agreed.")
    assert "2 settings are" in said(with_verdict(good, verdict, 2))[2][SETTINGS][1]


def test_a_doubt_is_unclear_and_never_fine(good: VisitState) -> None:
    tone, headline, points = said(with_verdict(good, Verdict.DOUBT, 1))
    assert (tone, headline) == ("unclear", "Some things could not be told.")
    assert points[SETTINGS] == (
        "unclear",
        "Not known for 1 setting. For 1 setting nothing was agreed. "
        "The clock runs by itself and was not compared.",
    )


def test_no_comparison_and_no_target_are_not_known(good: VisitState) -> None:
    assert said(replace(good, rounds=()))[2][SETTINGS][0] == "unclear"
    uncompared = replace(good.rounds[-1], difference=None)
    assert said(replace(good, rounds=(uncompared,)))[2][SETTINGS][0] == "unclear"
    nothing_agreed = with_verdict(good, Verdict.NO_TARGET, 999)
    assert said(nothing_agreed)[2][SETTINGS][0] == "unclear"


def test_faults_name_the_camera(scene: Any) -> None:
    tone, _, points = said(scene.state)
    assert tone == "bad"
    assert points[RECORDS][1].startswith(
        "No: camera 6: black picture, picture stands still, wrong picture rate."
    )
    proof = replace(scene.state.proof, missing_channels=(9,))
    assert "camera 9: no recording found" in said(replace(scene.state, proof=proof))[2][RECORDS][1]


def test_many_faults_are_counted_not_all_named(scene: Any) -> None:
    proof = replace(scene.state.proof, recordings=(), missing_channels=tuple(range(1, 40)))
    answer = said(replace(scene.state, proof=proof))[2][RECORDS][1]
    assert "and 29 more places, listed below" in answer


def test_a_verdict_of_records_is_not_believed_blindly(good: VisitState) -> None:
    assert good.proof is not None
    # Camera 8 was not looked at: nobody can say that each camera records.
    fewer = replace(good.proof, recordings=good.proof.recordings[:7])
    tone, _, points = said(replace(good, proof=fewer))
    assert tone == "unclear" and points[RECORDS][0] == "unclear"
    unknown = replace(good.proof.recordings[0], channel=None)
    assert said(replace(good, proof=replace(good.proof, recordings=(unknown,))))[0] == "unclear"
    faults = replace(good.proof, verdict=ProofVerdict.FAULTS)
    assert said(replace(good, proof=faults))[2][RECORDS][0] == "bad"
    unclear = replace(good.proof, verdict=ProofVerdict.UNCLEAR)
    assert said(replace(good, proof=unclear))[2][RECORDS][0] == "unclear"
    empty = Proof(ProofVerdict.RECORDS, ())
    assert said(replace(good, proof=empty))[2][RECORDS][0] == "unclear"
    assert said(replace(good, proof=None))[2][RECORDS][0] == "unclear"


def test_overrides_and_holds_are_exceptions_that_the_headline_tells(scene: Any, good: Any) -> None:
    over = replace(good, overrides=scene.state.overrides)
    tone, headline, points = said(over)
    assert (tone, headline) == (
        "note", "Everything is as agreed, with the exceptions stated here.",
    )  # fmt: skip
    assert points["Was any safeguard passed over?"][1].startswith("Yes, 1 time, by Ada Penhallow")
    hold = replace(scene.state.holds[0], released_at=None, released_by=None)
    assert said(replace(good, holds=(hold,)))[2]["Does footage have to be kept?"] == (
        "note", "Yes: 1 hold is in force. Do not wipe or swap.",
    )  # fmt: skip


def test_an_open_visit_is_never_all_good(good: VisitState) -> None:
    tone, headline, _ = said(replace(good, closed_at=None, closed_by=None))
    assert tone == "unclear"
    assert headline.endswith("The visit is still open, so this is a draft.")


def test_what_was_not_read_before_it_was_touched_is_said(good: VisitState) -> None:
    ask = "Was everything read before it was touched?"
    assert said(replace(good, settled=()))[2][ask] == (
        "unclear", "Not wholly: 2 settings not known as found.",
    )  # fmt: skip
    assert good.as_found is not None
    gap = replace(good.as_found, missing_pages=("network",))
    assert "1 page not photographed" in said(replace(good, as_found=gap))[2][ask][1]
    nothing = replace(good.as_found, fields=())
    assert said(replace(good, as_found=nothing, settled=()))[2][ask][0] == "unclear"


def test_open_steps_are_counted(good: VisitState) -> None:
    answer = said(replace(good, done=good.done[:4]))[2]["Were all steps done?"]
    assert answer == ("unclear", "No: 6 steps of 10 open, next “Factory reset”.")
