"""Plots as data: what is drawn, not how. Back-ends of ports/plots.py draw them."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import isfinite

from asfound.errors import UsageError


class Scale(StrEnum):
    """How an axis counts; TIME: seconds since 1970-01-01 UTC, shown as dates in UTC."""

    LINEAR = "linear"
    LOG = "log"
    TIME = "time"


@dataclass(frozen=True, slots=True)
class Axis:
    """What an axis shows; ``unit`` "" for plain numbers. ``low`` and ``high``: as far as the axis
    goes at least (None: as the figures want)."""

    title: str
    unit: str = ""
    scale: Scale = Scale.LINEAR
    low: float | None = None
    high: float | None = None

    @property
    def words(self) -> str:
        """Title with its unit as ISO 80000-1 writes it beside tables and graphs: "time [h]"."""
        return f"{self.title} [{self.unit}]" if self.unit else self.title


@dataclass(frozen=True, slots=True)
class Line:
    """A line through points in their order; as many ``x`` as ``y``, all finite."""

    name: str
    x: tuple[float, ...]
    y: tuple[float, ...]
    dashed: bool = False

    def __post_init__(self) -> None:
        _same(self.name, self.x, self.y)


@dataclass(frozen=True, slots=True)
class Band:
    """What lies between ``low`` and ``high`` over ``x``."""

    name: str
    x: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]

    def __post_init__(self) -> None:
        _same(self.name, self.x, self.low, self.high)


@dataclass(frozen=True, slots=True)
class Points:
    """Points that nothing joins."""

    name: str
    x: tuple[float, ...]
    y: tuple[float, ...]

    def __post_init__(self) -> None:
        _same(self.name, self.x, self.y)


@dataclass(frozen=True, slots=True)
class Rule:
    """A straight line across the whole plot: at a figure ``at`` of the axis ``on`` ("x": upright,
    "y": level)."""

    name: str
    at: float
    on: str = "y"

    def __post_init__(self) -> None:
        if self.on not in ("x", "y") or not isfinite(self.at):
            raise UsageError(f"{self.name!r} is no rule on an axis")


@dataclass(frozen=True, slots=True)
class Shape:
    """A closed outline, filled lightly; its last corner joins its first."""

    name: str
    x: tuple[float, ...]
    y: tuple[float, ...]

    def __post_init__(self) -> None:
        _same(self.name, self.x, self.y)


@dataclass(frozen=True, slots=True)
class Bars:
    """A level bar for each label, from 0 to its value, first one on top; a plot with bars has
    nothing but bars and rules on x; what its y axis is called is not drawn."""

    name: str
    labels: tuple[str, ...]
    values: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.labels) != len(self.values) or not all(isfinite(v) for v in self.values):
            raise UsageError(f"the bars {self.name!r} do not have a finite value for each label")


Layer = Line | Band | Points | Rule | Shape | Bars


@dataclass(frozen=True, slots=True)
class Plot:
    """A plot and what it shows, in a sentence (``title``). ``equal``: a metre is as long on both
    axes, as in a drawing to scale."""

    title: str
    x: Axis
    y: Axis
    layers: tuple[Layer, ...]
    equal: bool = False

    @property
    def names(self) -> tuple[str, ...]:
        """The names in the key, each once, in order."""
        return tuple(dict.fromkeys(layer.name for layer in self.layers))


def _same(name: str, *columns: tuple[float, ...]) -> None:
    if len({len(column) for column in columns}) > 1:
        raise UsageError(f"{name!r} has more figures on one axis than on the other")
    if not all(isfinite(value) for column in columns for value in column):
        raise UsageError(f"{name!r} has figures that are not finite")
