"""Other settings tried on what a grid counted: events a day and labels caught, without logs."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite
from typing import Any

import numpy as np

from asfound.calc.trigger_choice import SHOCK_S, USUAL_S
from asfound.errors import UsageError
from asfound.jobs.asked import Fields, figure, one_of, text_of
from asfound.jobs.judge_triggers import a_day
from asfound.jobs.tune_triggers import Tuned
from asfound.model.trigger import Direction, Trigger

MOST_STEPS = 200
MOST_LABELS = 2000
"""More are not carried by a page; the command line counts them all."""
Grid = tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True)
class Counted:
    """A direction's counts: ``events`` (K, D), outside of labels where there are any; ``best``
    (L, D): the highest threshold, 1 … K, that catches each label."""

    direction: Direction
    events: Grid
    best: Grid


@dataclass(frozen=True, slots=True)
class TryGrid:
    """All that is needed to try settings. ``hours`` of log; ``labels``: how many."""

    thresholds_g: tuple[float, ...]
    durations_s: tuple[float, ...]
    hours: float
    hours_a_day: float
    budget_a_day: float | None
    labels: int
    counted: tuple[Counted, ...]


@dataclass(frozen=True, slots=True)
class Tried:
    """A direction as it is set: number of its threshold (1 … K) and duration; whether it counts;
    what it does alone: events a day, labels caught."""

    direction: Direction
    on: bool
    level: int
    d: int
    a_day: float
    caught: int


@dataclass(frozen=True, slots=True)
class AllTried:
    """Each direction, and all that are on together: events a day (more than, likely, fewer than)
    and labels caught by any."""

    each: tuple[Tried, ...]
    a_day: tuple[float, float, float]
    caught: int


def grid_of(tuned: Tuned) -> TryGrid:
    """What was counted, small enough to be sent to and fro."""
    settings, request = tuned.request.settings, tuned.request
    labelled = 0 < len(tuned.labels) <= MOST_LABELS
    counted = tuple(
        Counted(
            direction,
            _rows((tally.outside if tuned.labels else tally.events).tolist()),
            _rows(tally.best.tolist()) if labelled else (),
        )
        for direction, tally in tuned.tallies.items()
    )
    return TryGrid(
        settings.thresholds_g,
        settings.durations_s,
        tuned.hours,
        request.hours_a_day,
        request.budget_a_day,
        len(tuned.labels) if labelled else 0,
        counted,
    )


def first_try(grid: TryGrid, triggers: Sequence[Trigger]) -> AllTried:
    """The settings that were recommended; what was not is off, in the middle."""
    by = {each.direction: each for each in triggers}
    choices = []
    for counted in grid.counted:
        trigger = by.get(counted.direction)
        if trigger is None:
            shock = counted.direction is Direction.UPRIGHT
            seconds = SHOCK_S if shock else USUAL_S
            d = min(range(len(grid.durations_s)), key=lambda n: abs(grid.durations_s[n] - seconds))
            choices.append((False, len(grid.thresholds_g) // 2, d))
        else:
            level = grid.thresholds_g.index(trigger.threshold_g) + 1
            choices.append((True, level, grid.durations_s.index(trigger.duration_s)))
    return tried(grid, choices)


def ask_try(grid: TryGrid, fields: Fields) -> AllTried:
    """Fields for each direction: on-forward · g-forward 0.35 · s-forward 0.4, the threshold taken
    to the nearest that was counted. Raises UsageError."""
    choices = []
    for counted in grid.counted:
        name = counted.direction.value
        g = figure(text_of(fields, f"g-{name}", "0"), f"threshold, {name}", 0.0, 100.0)
        steps = grid.thresholds_g
        level = min(range(len(steps)), key=lambda n: abs(steps[n] - g)) + 1
        lasting = [f"{each:g}" for each in grid.durations_s]
        seconds = one_of(text_of(fields, f"s-{name}", lasting[0]), f"duration, {name}", lasting)
        choices.append((bool(text_of(fields, f"on-{name}")), level, lasting.index(seconds)))
    return tried(grid, choices)


def tried(grid: TryGrid, choices: Sequence[tuple[bool, int, int]]) -> AllTried:
    """``choices``: on, number of the threshold, number of the duration, for each direction."""
    each, events = [], 0
    any_of = np.zeros(grid.labels, np.bool_)
    for counted, (on, level, d) in zip(grid.counted, choices, strict=True):
        count = counted.events[level - 1][d]
        hit = np.array([row[d] >= level for row in counted.best], np.bool_)
        if on:
            events += count
            any_of |= hit
        daily = count / grid.hours * grid.hours_a_day
        each.append(Tried(counted.direction, on, level, d, daily, int(hit.sum())))
    return AllTried(tuple(each), a_day(events, grid.hours, grid.hours_a_day), int(any_of.sum()))


def packed(grid: TryGrid) -> str:
    """The grid as one line of JSON."""
    return json.dumps(
        {
            "thresholds_g": grid.thresholds_g,
            "durations_s": grid.durations_s,
            "hours": grid.hours,
            "hours_a_day": grid.hours_a_day,
            "budget_a_day": grid.budget_a_day,
            "labels": grid.labels,
            "directions": [
                {"name": each.direction.value, "events": each.events, "best": each.best}
                for each in grid.counted
            ],
        },
        separators=(",", ":"),
    )


def unpacked(text: str) -> TryGrid:
    """What ``packed`` made. Raises UsageError for anything else."""
    try:
        data = json.loads(text)
        steps, lasting = _figures(data["thresholds_g"]), _figures(data["durations_s"])
        labels, budget = data["labels"], data["budget_a_day"]
        if not (isinstance(labels, int) and 0 <= labels <= MOST_LABELS):
            raise ValueError("no number of labels")
        made = TryGrid(
            steps,
            lasting,
            _figures([data["hours"]])[0],
            _figures([data["hours_a_day"]])[0],
            None if budget is None else _figures([budget])[0],
            labels,
            tuple(
                Counted(
                    Direction(each["name"]),
                    _counts(each["events"], len(steps), len(lasting)),
                    _counts(each["best"], labels, len(lasting)),
                )
                for each in data["directions"]
            ),
        )
    except (ValueError, KeyError, TypeError, RecursionError):
        raise UsageError("what was counted came back broken; send the logs again") from None
    if not made.counted or len(made.counted) > len(Direction):
        raise UsageError("what was counted came back broken; send the logs again")
    return made


def _rows(rows: Sequence[Sequence[int]]) -> Grid:
    return tuple(tuple(row) for row in rows)


def _figures(values: Any) -> tuple[float, ...]:
    made = tuple(float(each) for each in values)
    fine = all(isfinite(each) and each > 0 for each in made) and list(made) == sorted(set(made))
    if not (fine and 0 < len(made) <= MOST_STEPS):
        raise ValueError("no figures that rise")
    return made


def _counts(rows: Any, height: int, width: int) -> Grid:
    made = tuple(tuple(row) for row in rows)
    fine = len(made) == height and all(
        len(row) == width and all(type(v) is int and 0 <= v < 2**53 for v in row) for row in made
    )
    if not fine:
        raise ValueError("not so many counts")
    return made
