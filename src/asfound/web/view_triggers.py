"""What the page of motion triggers shows: the grid as a drawing whose thresholds can be moved."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, log10

from asfound.jobs.judge_triggers import rate_text
from asfound.jobs.try_triggers import AllTried, TryGrid, packed
from asfound.jobs.tune_triggers import Tuned
from asfound.model.drive_log import LogFault

WIDTH, HEIGHT = 440, 300
LEFT, RIGHT, TOP, BOTTOM = 62, WIDTH - 14, 14, HEIGHT - 48
"""Pixels of the drawing, and the edges of its field."""


@dataclass(frozen=True, slots=True)
class Curve:
    """Events a day over the threshold, as points of a polyline, and where the threshold stands."""

    name: str
    points: str
    x: float
    on: bool


@dataclass(frozen=True, slots=True)
class Drawing:
    """Curves, marks on both axes (place, text), what is accepted; events a day from ``lowest`` to
    ``highest``, thresholds up to ``most_g``."""

    curves: tuple[Curve, ...]
    across: tuple[tuple[float, str], ...]
    up: tuple[tuple[float, str], ...]
    budget: float | None
    lowest: float
    highest: float
    most_g: float
    size: tuple[int, int] = (WIDTH, HEIGHT)
    left: int = LEFT
    right: int = RIGHT
    top: int = TOP
    bottom: int = BOTTOM


@dataclass(frozen=True, slots=True)
class TriggersAnswer:
    """``tuned``: what the logs said, None where only other settings are tried."""

    grid: TryGrid
    tried: AllTried
    drawing: Drawing
    packed: str
    tuned: Tuned | None = None
    left_out: tuple[LogFault, ...] = ()

    @staticmethod
    def text(value: float) -> str:
        """A rate, as the page's script writes it too."""
        return rate_text(value)

    @property
    def share(self) -> float | None:
        """Share of labels caught; None without any."""
        return self.tried.caught / self.grid.labels if self.grid.labels else None


def answer_of(
    grid: TryGrid,
    tried: AllTried,
    tuned: Tuned | None = None,
    left_out: tuple[LogFault, ...] = (),
) -> TriggersAnswer:
    """All that the page shows."""
    return TriggersAnswer(grid, tried, drawing_of(grid, tried), packed(grid), tuned, left_out)


def drawing_of(grid: TryGrid, tried: AllTried) -> Drawing:
    """The counts as they are set; what never came lies on the bottom edge."""
    one = grid.hours_a_day / grid.hours
    lowest = 10.0 ** floor(log10(one))
    most = max(max(map(max, counted.events)) for counted in grid.counted) * one
    highest = 10.0 ** ceil(log10(max(most, lowest * 10)) + 1e-9)
    widest = grid.thresholds_g[-1]
    scale = Drawing((), (), (), None, lowest, highest, widest)
    curves = []
    for counted, each in zip(grid.counted, tried.each, strict=True):
        daily = [row[each.d] * one for row in counted.events]
        points = " ".join(
            f"{_x(scale, g):.1f},{_y(scale, value):.1f}"
            for g, value in zip(grid.thresholds_g, daily, strict=True)
        )
        stands = _x(scale, grid.thresholds_g[each.level - 1])
        curves.append(Curve(counted.direction.value, points, stands, each.on))
    steps = range(1, floor(widest / _step(widest) + 1e-9) + 1)
    across = [(_x(scale, n * _step(widest)), f"{n * _step(widest):g}") for n in steps]
    decades = range(round(log10(lowest)), round(log10(highest)) + 1)
    up = [(_y(scale, 10.0**n), f"{10.0**n:g}") for n in decades]
    budget = None if grid.budget_a_day is None else _y(scale, grid.budget_a_day)
    return Drawing(tuple(curves), tuple(across), tuple(up), budget, lowest, highest, widest)


def _step(widest: float) -> float:
    return next(step for step in (0.1, 0.25, 0.5, 1.0, 5.0, 50.0) if widest / step <= 10)


def _x(scale: Drawing, g: float) -> float:
    return LEFT + (RIGHT - LEFT) * g / scale.most_g


def _y(scale: Drawing, value: float) -> float:
    clipped = min(max(value, scale.lowest), scale.highest)
    share = log10(clipped / scale.lowest) / log10(scale.highest / scale.lowest)
    return BOTTOM - (BOTTOM - TOP) * share
