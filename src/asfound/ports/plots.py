"""Plots: draw what a model.plot.Plot says."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol

from asfound.model.plot import Plot


class PlotForm(StrEnum):
    """File formats, by the endings of their names."""

    SVG = "svg"
    PNG = "png"
    PDF = "pdf"


@dataclass(frozen=True, slots=True)
class Look:
    """Colours as CSS writes them. ``series``: one after the other for what has a name; ``ground``
    "" where nothing is painted behind. ``width`` [px] of the frame."""

    ink: str
    soft: str
    line: str
    ground: str
    series: tuple[str, ...]
    width: int = 420


PAPER = Look(
    "#1a2126", "#525e66", "#d5dad9", "#ffffff",
    ("#0b5d68", "#b3531b", "#5d3a8c", "#3f6d1d", "#a01f5c", "#46525a"), 560,
)  # fmt: skip
"""For files: dark on white, told apart in greys by their dashes as well."""


class Plotter(Protocol):
    """Draws plots."""

    def draw(self, plot: Plot, form: PlotForm = PlotForm.SVG, look: Look = PAPER) -> bytes:
        """The picture; SVG has no name, role or script in it. Raises MissingPart when it cannot be
        drawn on this machine."""
        ...
