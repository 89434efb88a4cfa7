"""How far recommended triggers can be believed: judged on parts of the logs that did not choose."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import inf

from asfound.calc.calibration import wilson
from asfound.calc.event_rates import rate_above, rate_below
from asfound.calc.trigger_choice import Pick, caught_by, choose, events_of
from asfound.calc.trigger_grid import Settings, Tally, total
from asfound.errors import UsageError
from asfound.model.trigger import Direction

LEAST_FOLDS = 2
Tallies = Mapping[Direction, Tally]


class TriggerFault(StrEnum):
    """What keeps the recommendation from being relied on."""

    UP_UNKNOWN = "up-unknown"
    FORWARD_UNKNOWN = "forward-unknown"
    UNTESTABLE = "budget-below-what-the-hours-show"
    EXCEEDED = "budget-may-be-exceeded"
    NO_SETTING = "no-setting"
    FEW_LABELS = "few-labels"
    LEFT_OUT = "samples-left-out"


@dataclass(frozen=True, slots=True)
class TriggerFinding:
    """``measured`` against ``limit``, as far as there are figures, and what a person would say."""

    kind: TriggerFault
    note: str
    measured: float | None = None
    limit: float | None = None


@dataclass(frozen=True, slots=True)
class Outcome:
    """Of ``labels`` so many were ``caught``; ``events`` in ``hours``, of them ``outside`` of
    labels, each direction counted for itself."""

    labels: int = 0
    caught: int = 0
    events: int = 0
    outside: int = 0
    hours: float = 0.0

    def __add__(self, other: Outcome) -> Outcome:
        return Outcome(
            self.labels + other.labels,
            self.caught + other.caught,
            self.events + other.events,
            self.outside + other.outside,
            self.hours + other.hours,
        )

    @property
    def recall(self) -> float | None:
        """Share of labels caught."""
        return self.caught / self.labels if self.labels else None

    @property
    def precision(self) -> float | None:
        """Labels caught to those and the events outside; None with neither."""
        made = self.caught + self.outside
        return self.caught / made if self.labels and made else None

    def recall_limits(self) -> tuple[float, float]:
        """95 % (Wilson)."""
        return wilson(self.caught, self.labels) if self.labels else (0.0, 1.0)

    def precision_limits(self) -> tuple[float, float]:
        """95 % (Wilson)."""
        made = self.caught + self.outside
        return wilson(self.caught, made) if self.labels and made else (0.0, 1.0)

    @property
    def unasked(self) -> int:
        """Events that a budget is for: outside of labels, where there are any."""
        return self.outside if self.labels else self.events


@dataclass(frozen=True, slots=True)
class Judged:
    """What triggers did in parts of the logs that were left out when they were chosen, all
    ``parts`` together (0: there was only one). ``testable``: without any event in them, the hours
    would show the budget to be kept."""

    outcome: Outcome
    parts: int
    testable: bool


def a_day(events: int, hours: float, hours_a_day: float) -> tuple[float, float, float]:
    """Events on a day: more than this, on average, fewer than this (each with 95 %)."""
    if hours <= 0:
        return 0.0, 0.0, inf
    return (
        rate_above(events, hours) * hours_a_day,
        events / hours * hours_a_day,
        rate_below(events, hours) * hours_a_day,
    )


def rate_text(value: float) -> str:
    """A rate to three digits; large ones whole."""
    return f"{value:.3g}" if value < 999.5 else f"{value:.0f}"


def outcome(picks: Sequence[Pick], tallies: Tallies) -> Outcome:
    """What ``picks`` did."""
    some = next(iter(tallies.values()))
    return Outcome(
        len(some.best),
        int(caught_by(picks, tallies).sum()),
        events_of(picks, tallies, outside=False),
        events_of(picks, tallies, outside=True),
        some.hours,
    )


def recommend(
    tallies: Tallies, settings: Settings, an_hour: float | None, testable: bool
) -> tuple[Pick, ...]:
    """The triggers for a budget [1/h]; one that the hours of all logs cannot show to be kept (not
    ``testable``) does not narrow the choice. Raises UsageError with neither labels nor a budget."""
    some = next(iter(tallies.values()))
    if len(some.best) == 0:
        if an_hour is None:
            raise UsageError("without labels a budget is needed: say budget 3/day")
        return choose(tallies, settings, an_hour)
    return choose(tallies, settings, an_hour if testable else None)


def judge(folds: Sequence[Tallies], settings: Settings, an_hour: float | None) -> Judged:
    """Each fold judged by triggers that the others chose."""
    hours = sum(next(iter(fold.values())).hours for fold in folds)
    testable = _testable(hours, an_hour)
    if len(folds) < LEAST_FOLDS:
        return Judged(Outcome(), 0, testable)
    made = Outcome()
    for left in range(len(folds)):
        others = merged([fold for n, fold in enumerate(folds) if n != left])
        some = next(iter(others.values()))
        if len(some.best) == 0 and an_hour is None:
            # All labels lie in the part left out: nothing can be chosen.
            return Judged(Outcome(), 0, testable)
        made += outcome(recommend(others, settings, an_hour, testable), folds[left])
    return Judged(made, len(folds), testable)


def merged(folds: Sequence[Tallies]) -> Tallies:
    """Several parts as one."""
    return {each: total([fold[each] for fold in folds]) for each in folds[0]}


def _testable(hours: float, an_hour: float | None) -> bool:
    return an_hour is None or rate_below(0, hours) <= an_hour


def budget_findings(
    judged: Judged, whole: Outcome, budget_a_day: float, hours_a_day: float
) -> list[TriggerFinding]:
    """Whether the hours of log show that a budget is kept."""
    shown = judged.outcome if judged.parts else whole
    least = a_day(0, whole.hours, hours_a_day)[2]
    if not judged.testable:
        wanted = rate_below(0, 1.0) * hours_a_day / budget_a_day
        note = (
            f"{whole.hours:.3g} h of log cannot show {budget_a_day:g} events a day to be kept: "
            f"even with none in them it could be {rate_text(least)} a day; {wanted:.0f} h would "
            "do, if none comes"
        )
        return [TriggerFinding(TriggerFault.UNTESTABLE, note, least, budget_a_day)]
    most = a_day(shown.unasked, shown.hours, hours_a_day)[2]
    if most > budget_a_day:
        note = (
            f"up to {rate_text(most)} events a day fit what the logs show (95 %), {budget_a_day:g} "
            "are accepted"
        )
        return [TriggerFinding(TriggerFault.EXCEEDED, note, most, budget_a_day)]
    return []
