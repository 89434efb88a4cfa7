"""The stop rule against SciPy, published tables and its own promises."""

from __future__ import annotations

from math import ceil
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from asfound.calc.stop_rule import (
    boundaries,
    chance_of_at_most,
    decide,
    ever_stopped,
    lower_bound,
    needed_without_failure,
    smallest_pilot,
    upper_bound,
)
from asfound.model.rollout import Decision, StopLimits

WALD = StopLimits(0.01, 0.10, "sequential", 0.05, 0.10)
RANK = {Decision.GO_ON: 0, Decision.HOLD: 1, Decision.COULD_NOT_TELL: 1, Decision.STOP: 2}
RULES = st.builds(
    StopLimits,
    st.floats(0.001, 0.2),
    st.floats(0.21, 0.9),
    st.sampled_from(["sequential", "exact"]),
    st.floats(0.01, 0.3),
    st.floats(0.01, 0.3),
    st.floats(0.6, 0.999),
)


@given(st.integers(0, 300), st.integers(1, 300), st.floats(0.5, 0.999))
def test_bounds_are_scipys(failures: int, trials: int, confidence: float) -> None:
    failures = min(failures, trials)
    test = stats.binomtest(failures, trials, alternative="less")
    high = test.proportion_ci(confidence, "exact").high
    assert upper_bound(failures, trials, confidence) == pytest.approx(high, abs=1e-9)
    test = stats.binomtest(failures, trials, alternative="greater")
    low = test.proportion_ci(confidence, "exact").low
    assert lower_bound(failures, trials, confidence) == pytest.approx(low, abs=1e-9)


@given(st.integers(0, 400), st.integers(0, 400), st.floats(0, 1))
def test_chances_are_scipys(failures: int, trials: int, rate: float) -> None:
    want = stats.binom.cdf(failures, trials, rate)
    assert chance_of_at_most(failures, trials, rate) == pytest.approx(want, abs=1e-9)


def test_published_bounds() -> None:
    # 10 of 100 at 95 % two-sided: 4.90 % to 17.62 % (tables of exact limits, from memory).
    assert lower_bound(10, 100, 0.975) == pytest.approx(0.0490, abs=5e-5)
    assert upper_bound(10, 100, 0.975) == pytest.approx(0.1762, abs=5e-5)
    # 0 of 14: at most 19.3 %, 3/14 by the rule of three (Hanley and Lippman-Hand, from memory).
    assert upper_bound(0, 14, 0.95) == pytest.approx(0.193, abs=5e-4)


@pytest.mark.parametrize(("failures", "need"), [(0, 59), (1, 93), (2, 124)])
def test_smallest_pilot_is_that_of_wilks(failures: int, need: int) -> None:
    # Wilks's sample sizes for 95 % / 95 %: 59, 93, 124 (from memory).
    assert smallest_pilot(0.05, 0.95, failures) == need


@given(st.floats(0.001, 0.2))
def test_the_rule_of_three_is_a_little_careful(rate: float) -> None:
    exact, three = smallest_pilot(rate, 0.95), ceil(3 / rate)
    # 3 stands for -ln 0.05 = 2.9957: careful by 0.0043/rate, and by rounding.
    assert exact <= three + 1 and three - exact <= 3 + 0.005 / rate
    assert upper_bound(0, exact, 0.95) <= rate + 1e-9
    assert upper_bound(0, exact - 1, 0.95) > rate - 1e-9 or exact == 1


def test_the_lines_are_those_of_the_handbook() -> None:
    # NIST/SEMATECH e-Handbook 6.2.6: p 0.01 and 0.10, alpha 0.05, beta 0.10 (from memory).
    lines = boundaries(WALD)
    assert lines.go_on == pytest.approx(0.939, abs=5e-4)
    assert lines.stop == pytest.approx(1.205, abs=1e-3)
    assert lines.slope == pytest.approx(0.0397, abs=5e-5)
    # Its table: the first acceptance is 0 failures of 24; 2 of 2 reject.
    assert decide(WALD, 0, 23).decision is Decision.HOLD
    assert decide(WALD, 0, 24).decision is Decision.GO_ON
    assert decide(WALD, 2, 2).decision is Decision.STOP


@given(RULES, st.integers(0, 60), st.integers(0, 60), st.integers(0, 5))
def test_more_failures_never_help(
    limits: StopLimits, failed: int, passed: int, untold: int
) -> None:
    judged = failed + passed
    now = RANK[decide(limits, failed, judged, untold).decision]
    assert RANK[decide(limits, failed + 1, judged + 1, untold).decision] >= now
    if passed:
        assert RANK[decide(limits, failed + 1, judged, untold).decision] >= now
    assert RANK[decide(limits, failed, judged + 1, untold).decision] <= now


@given(RULES, st.integers(0, 40), st.integers(0, 40), st.integers(1, 5))
def test_what_was_not_told_never_counts_as_fine(
    limits: StopLimits, failed: int, passed: int, untold: int
) -> None:
    made = decide(limits, failed, failed + passed, untold).decision
    told = decide(limits, failed + untold, failed + passed + untold).decision
    assert made is not Decision.GO_ON or told is Decision.GO_ON
    fine = decide(limits, failed, failed + passed + untold).decision
    assert made is not Decision.STOP or fine is Decision.STOP


@given(RULES)
def test_the_lines_rise_and_do_not_cross(limits: StopLimits) -> None:
    lines = boundaries(limits)
    assert 0 < lines.slope < 1 and lines.stop > -lines.go_on


@given(RULES, st.lists(st.booleans(), max_size=30), st.lists(st.just(False), max_size=30))
def test_later_passes_do_not_undo_a_stop(
    limits: StopLimits, outcomes: list[bool], passes: list[bool]
) -> None:
    assert ever_stopped(limits, [*outcomes, *passes]) == ever_stopped(limits, outcomes)


def test_nobody_tried_is_no_reason_to_go_on() -> None:
    for rule in ("sequential", "exact"):
        limits = StopLimits(0.02, 0.2, rule)
        assert decide(limits, 0, 0).decision is Decision.HOLD
        assert decide(limits, 0, 0, 3).decision is not Decision.GO_ON


@pytest.mark.parametrize("wrong", [(3, 2, 0.9), (-1, 2, 0.9), (1, 2, 1.0)])
def test_wrong_figures_are_refused(wrong: tuple[int, int, float]) -> None:
    with pytest.raises(ValueError):
        upper_bound(*wrong)


@given(RULES)
def test_the_pilot_that_is_named_is_the_smallest_that_will_do(limits: StopLimits) -> None:
    need = needed_without_failure(limits)
    assert decide(limits, 0, need).decision is Decision.GO_ON
    assert decide(limits, 0, need - 1).decision is not Decision.GO_ON


@pytest.mark.parametrize(("rate", "wrong"), [(0.02, Decision.STOP), (0.2, Decision.GO_ON)])
def test_wrong_decisions_are_as_rare_as_wald_promises(rate: float, wrong: Decision) -> None:
    # Wald: alpha / (1 - beta) and beta / (1 - alpha) at most; five standard errors let pass.
    limits, random, times = StopLimits(0.02, 0.2), Random(4711), 400
    most = {Decision.STOP: 0.05 / 0.90, Decision.GO_ON: 0.10 / 0.95}[wrong]
    made = [_until_decided(limits, rate, random) for _ in range(times)]
    assert made.count(wrong) / times < most + 5 * (most * (1 - most) / times) ** 0.5


def _until_decided(limits: StopLimits, rate: float, random: Random) -> Decision:
    failed = judged = 0
    while (made := decide(limits, failed, judged).decision) is Decision.HOLD:
        judged += 1
        failed += random.random() < rate
    return made
