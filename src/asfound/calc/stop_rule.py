"""When a rollout goes on, holds or stops: failures among vehicles against two rates.

Exact bound: Clopper and Pearson (Biometrika 26, 1934), one-sided: the upper bound of k failures of
n is the rate p with P(X <= k; n, p) = 1 - confidence, the lower one that with P(X >= k; n, p) =
1 - confidence, X binomial. With k = 0 the upper bound is 1 - (1 - confidence)^(1/n), which for
95 % is about 3/n (Hanley and Lippman-Hand, JAMA 249, 1983: the rule of three).

Sequential test: Wald, Sequential Analysis (1947), for rates p0 < p1 with errors alpha and beta.
The log likelihood ratio k ln(p1/p0) + (n - k) ln((1-p1)/(1-p0)) says stop from ln((1-beta)/alpha)
on, go on down to ln(beta/(1-alpha)), else hold. As failures k at n vehicles, these are two
parallel lines: stop from h1 + s n on, go on down to -h0 + s n. That the upper line is ever
reached at p0 has at most the chance alpha/(1-beta), however often one looks (Ville's inequality).
Both sources from memory; held against SciPy and published tables in the tests.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, exp, inf, lgamma, log, log1p

from asfound.model.rollout import Decision, StopLimits

HALVINGS = 100
"""Enough for the last bit of a rate."""

NEAR = 1e-9
"""What sums of logarithms are off by at most: a line that is reached counts as reached."""


@dataclass(frozen=True, slots=True)
class Lines:
    """Stop from ``stop`` + ``slope`` * n failures on; go on down to ``slope`` * n - ``go_on``."""

    stop: float
    go_on: float
    slope: float


@dataclass(frozen=True, slots=True)
class Ruled:
    """A decision with its figures: vehicles judged and failed, those not told, one-sided bounds
    of the failure rate 0..1, and the log likelihood ratio with its two boundaries."""

    decision: Decision
    judged: int
    failed: int
    untold: int
    lower: float
    upper: float
    ratio: float
    go_on_at: float
    stop_at: float


def chance_of_at_most(failures: int, trials: int, rate: float) -> float:
    """P(X <= failures) of ``trials``, each failing with chance ``rate``."""
    if failures >= trials:
        return 1.0
    if failures < 0 or rate >= 1:
        return 0.0
    if rate <= 0:
        return 1.0
    whole = lgamma(trials + 1)
    return min(
        1.0,
        sum(
            exp(
                whole - lgamma(k + 1) - lgamma(trials - k + 1)
                + k * log(rate) + (trials - k) * log1p(-rate)
            )
            for k in range(failures + 1)
        ),
    )  # fmt: skip


def upper_bound(failures: int, trials: int, confidence: float) -> float:
    """One-sided exact upper bound of the failure rate; 1 when nothing was tried. ValueError."""
    _check(failures, trials, confidence)
    if failures == trials:
        return 1.0
    return _rate_where(failures, trials, 1 - confidence)


def lower_bound(failures: int, trials: int, confidence: float) -> float:
    """One-sided exact lower bound of the failure rate; 0 without failures. Raises ValueError."""
    _check(failures, trials, confidence)
    return _rate_where(failures - 1, trials, confidence) if failures else 0.0


def smallest_pilot(rate: float, confidence: float, failures: int = 0) -> int:
    """How many vehicles, ``failures`` of them failing, show a rate of at most ``rate``.
    Raises ValueError."""
    _check(failures, failures, confidence)
    if not 0 < rate < 1:
        raise ValueError(f"rate {rate} is not between 0 and 1")
    low, high = failures, failures + 1
    while chance_of_at_most(failures, high, rate) > 1 - confidence:
        low, high = high, 2 * high
    while high - low > 1:
        middle = (low + high) // 2
        if chance_of_at_most(failures, middle, rate) > 1 - confidence:
            low = middle
        else:
            high = middle
    return high


def needed_without_failure(limits: StopLimits) -> int:
    """How many vehicles, none failing, the rule wants before it says go on."""
    if limits.rule == "exact":
        return smallest_pilot(limits.unacceptable, limits.confidence)
    return max(1, ceil(boundaries(limits).go_on / boundaries(limits).slope - NEAR))


def boundaries(limits: StopLimits) -> Lines:
    """The sequential test's lines, in failures."""
    up = log(limits.unacceptable / limits.acceptable)
    down = log1p(-limits.acceptable) - log1p(-limits.unacceptable)
    go_on_at, stop_at = _ends(limits)
    return Lines(stop_at / (up + down), -go_on_at / (up + down), down / (up + down))


def decide(limits: StopLimits, failed: int, judged: int, untold: int = 0) -> Ruled:
    """What the rule says of ``failed`` among ``judged``, ``untold`` more not being told.

    Stop when it says so with every untold one passed; go on only when it says so with every one
    failed. Where that makes a difference, could-not-tell. Raises ValueError.
    """
    _check(failed, judged, limits.confidence)
    best = _plain(limits, failed, judged + untold)
    worst = _plain(limits, failed + untold, judged + untold)
    made = best if best is worst or best is Decision.STOP else Decision.COULD_NOT_TELL
    go_on_at, stop_at = _ends(limits)
    return Ruled(
        made, judged, failed, untold,
        lower_bound(failed, judged, limits.confidence),
        upper_bound(failed, judged, limits.confidence),
        _ratio(limits, failed, judged), go_on_at, stop_at,
    )  # fmt: skip


def ever_stopped(limits: StopLimits, failures: Sequence[bool]) -> bool:
    """True when the rule said stop after any of these outcomes, oldest first: passes that come
    later do not undo it."""
    failed = 0
    for number, one in enumerate(failures, 1):
        failed += one
        if _plain(limits, failed, number) is Decision.STOP:
            return True
    return False


def _plain(limits: StopLimits, failed: int, judged: int) -> Decision:
    if limits.rule == "exact":
        stop = lower_bound(failed, judged, limits.confidence) > limits.acceptable
        go_on = upper_bound(failed, judged, limits.confidence) <= limits.unacceptable
        # Many vehicles can show a rate between the two limits: that is no reason to go on.
        return Decision.STOP if stop else Decision.GO_ON if go_on else Decision.HOLD
    go_on_at, stop_at = _ends(limits)
    ratio = _ratio(limits, failed, judged)
    if ratio >= stop_at - NEAR:
        return Decision.STOP
    return Decision.GO_ON if ratio <= go_on_at + NEAR else Decision.HOLD


def _ratio(limits: StopLimits, failed: int, judged: int) -> float:
    up = log(limits.unacceptable / limits.acceptable)
    down = log1p(-limits.unacceptable) - log1p(-limits.acceptable)
    return failed * up + (judged - failed) * down


def _ends(limits: StopLimits) -> tuple[float, float]:
    return log(limits.beta / (1 - limits.alpha)), log((1 - limits.beta) / limits.alpha)


def _rate_where(failures: int, trials: int, chance: float) -> float:
    """The rate at which at most ``failures`` have this chance; it falls with the rate."""
    low, high = 0.0, 1.0
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        if chance_of_at_most(failures, trials, middle) > chance:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _check(failures: int, trials: int, confidence: float) -> None:
    if not 0 <= failures <= trials < inf:
        raise ValueError(f"{failures} failures of {trials}")
    if not 0 < confidence < 1:
        raise ValueError(f"confidence {confidence} is not between 0 and 1")
