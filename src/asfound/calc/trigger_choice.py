"""Which settings of motion triggers to take: few figures, chosen so that they hold on other days.

With labels and a budget of false events, those that belong to no label, the best settings catch
the most labels within the budget, all of which counts as much as one label. With labels alone they
have the highest F = 2 caught / (labels + caught + false) (Rijsbergen, *Information Retrieval*,
1979, chapter 7; from memory). The best of a grid fits the log's own chance events; so all settings
within one label's worth of it are taken together, and of them the middle: first the duration that
has most of them, then the middle threshold of each axis. On drives not used for choosing this came
out better than the single best (docs/bench.md).

Without labels nothing says what should be caught: the lowest thresholds are taken whose events
stay within the budget, of which each direction has an equal share. Within a budget is what surely
(95 %) keeps it where the hours can show that, else what was counted.

Shocks are short and upright; braking, pulling and bends last. So the upright axis has a duration
of its own, and with labels it is used only when it catches more than it costs.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from asfound.calc.event_rates import rate_below
from asfound.calc.trigger_grid import Settings, Tally
from asfound.model.trigger import Direction

LASTING_S = (0.3, 0.8)
"""Durations that are tried for what drivers do (own choice, by tuning)."""
USUAL_S = 0.4
"""The duration without labels (own choice, by tuning)."""
SHOCK_S = 0.1
"""The duration of the upright axis (own choice)."""
SLACK = 1.0
"""Labels' worth within which settings are as good as the best (own choice, by tuning)."""
WORTH = 2.0
"""Labels' worth by which the upright axis has to help."""

Tallies = Mapping[Direction, Tally]


@dataclass(frozen=True, slots=True)
class Pick:
    """Threshold number ``level``, 1 … K, and duration number ``d``, 0 … D - 1, of a direction."""

    direction: Direction
    level: int
    d: int


def caught_by(picks: Sequence[Pick], tallies: Tallies) -> NDArray[np.bool_]:
    """Which labels (L,) at least one of the triggers catches."""
    some = next(iter(tallies.values()))
    made = np.zeros(len(some.best), np.bool_)
    for pick in picks:
        made |= tallies[pick.direction].best[:, pick.d] >= pick.level
    return made


def events_of(picks: Sequence[Pick], tallies: Tallies, outside: bool) -> int:
    """Events of all triggers, each counted for itself; only those outside of labels, or all."""
    return sum(
        int((tally.outside if outside else tally.events)[pick.level - 1, pick.d])
        for pick in picks
        for tally in (tallies[pick.direction],)
    )


def nearest(seconds: float, settings: Settings) -> int:
    """The number of the duration nearest to ``seconds``."""
    return min(
        range(len(settings.durations_s)), key=lambda n: abs(settings.durations_s[n] - seconds)
    )


def choose(tallies: Tallies, settings: Settings, budget_an_hour: float | None) -> tuple[Pick, ...]:
    """The triggers to set; a direction that is better left off is left out.

    ``budget_an_hour``: events [1/h] that are accepted (with labels: outside of them); None: as many
    as balance best. Raises ValueError without labels and budget.
    """
    some = next(iter(tallies.values()))
    if len(some.best) == 0:
        if budget_an_hour is None:
            raise ValueError("neither labels nor a budget: nothing says what is too much")
        return _quietest(tallies, settings, budget_an_hour)
    most = np.inf if budget_an_hour is None else _most(budget_an_hour, some.hours)
    main = [each for each in tallies if each is not Direction.UPRIGHT]
    picks = _balanced(main, tallies, settings, most)
    upright = tallies.get(Direction.UPRIGHT)
    if upright is not None and main:
        picks = _with_upright(picks, tallies, settings, most)
    return picks


def _most(budget_an_hour: float, hours: float) -> float:
    """Events in ``hours`` that surely (95 %) keep the budget; where none do, as many as it has."""
    most = budget_an_hour * hours
    if rate_below(0, hours) > budget_an_hour:
        return most
    low, high = 0, int(most)
    while low < high:
        middle = (low + high + 1) // 2
        if rate_below(middle, hours) <= budget_an_hour:
            low = middle
        else:
            high = middle - 1
    return float(low)


def _quietest(tallies: Tallies, settings: Settings, budget_an_hour: float) -> tuple[Pick, ...]:
    picks = []
    for direction, tally in tallies.items():
        d = nearest(SHOCK_S if direction is Direction.UPRIGHT else USUAL_S, settings)
        share = budget_an_hour / len(tallies)
        sure = rate_below(0, tally.hours) <= share
        for level in range(1, len(settings.thresholds_g) + 1):
            events = int(tally.events[level - 1, d])
            rate = rate_below(events, tally.hours) if sure else events / tally.hours
            if rate <= share:
                picks.append(Pick(direction, level, d))
                break
    return tuple(picks)


def _balanced(
    main: Sequence[Direction], tallies: Tallies, settings: Settings, most: float
) -> tuple[Pick, ...]:
    """One duration for all main directions, a threshold for each (one or two)."""
    lasting = [
        d
        for d, seconds in enumerate(settings.durations_s)
        if LASTING_S[0] <= seconds <= LASTING_S[1]
    ] or [nearest(USUAL_S, settings)]
    scores = [_scores(main, tallies, d, most) for d in lasting]
    best = max(float(score.max()) for score in scores)
    if best <= 0:
        return ()
    labels = len(next(iter(tallies.values())).best)
    fine = [np.argwhere(score >= max(best - SLACK / labels, 1e-9)) for score in scores]
    at = max(range(len(lasting)), key=lambda n: len(fine[n]))
    levels = np.median(fine[at], axis=0)
    # The middle of several figures may itself lie outside, as in a bent valley: the nearest inside.
    inside = fine[at]
    chosen = inside[int(np.argmin(((inside - levels) ** 2).sum(axis=1)))]
    return tuple(
        Pick(direction, int(chosen[n]) + 1, lasting[at]) for n, direction in enumerate(main)
    )


def _scores(
    main: Sequence[Direction], tallies: Tallies, d: int, most: float
) -> NDArray[np.float64]:
    """How good (K,) or (K, K) every threshold of one or two directions is at a duration."""
    bests = [tallies[each].best[:, d] for each in main]
    outs = [tallies[each].outside[:, d] for each in main]
    levels = len(outs[0])
    # Labels that none of the directions catches, counted up from those of the lowest levels.
    seen = np.zeros((levels + 1,) * len(main), np.int64)
    np.add.at(seen, tuple(bests), 1)
    for axis in range(len(main)):
        seen = np.cumsum(seen, axis=axis)
    missed = seen[(slice(0, levels),) * len(main)]
    false = outs[0] if len(main) == 1 else outs[0][:, None] + outs[1][None, :]
    labels = len(bests[0])
    return _score(labels - missed, false, labels, most)


def _score(
    caught: NDArray[np.int64], false: NDArray[np.int64], labels: int, most: float
) -> NDArray[np.float64]:
    """How good settings are, 1 at best, a label's worth being 1 / ``labels``; -1 where there are
    more false events than ``most``."""
    if np.isinf(most):
        return np.asarray(2 * caught / (labels + caught + false))
    return np.where(false <= most, (caught - false / (most + 1)) / labels, -1.0)


def _with_upright(
    picks: tuple[Pick, ...], tallies: Tallies, settings: Settings, most: float
) -> tuple[Pick, ...]:
    """``picks`` and the upright axis, where that helps enough."""
    upright = tallies[Direction.UPRIGHT]
    d = nearest(SHOCK_S, settings)
    before = caught_by(picks, tallies)
    false = events_of(picks, tallies, outside=True)
    labels = len(before)
    levels = np.arange(1, len(upright.outside) + 1)
    after = np.array([(before | (upright.best[:, d] >= level)).sum() for level in levels])
    out = false + upright.outside[:, d]
    score = _score(after, out, labels, most)
    now = float(_score(before.sum(), np.array(false), labels, most))
    if score.max() < now + WORTH / labels:
        return picks
    fine = levels[score >= score.max() - SLACK / labels]
    return (*picks, Pick(Direction.UPRIGHT, int(fine[len(fine) // 2]), d))
