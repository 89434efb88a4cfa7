"""The chances of causes as bars."""

from __future__ import annotations

from asfound.jobs.find_fault import FaultView
from asfound.model.plot import Axis, Bars, Plot, Rule

MOST = 8
"""Bars drawn at most."""


def plot_fault(view: FaultView, sure: float) -> Plot:
    """The likeliest causes, and how much chance is sure enough."""
    causes = view.causes[:MOST]
    bars = Bars(
        "chance",
        tuple(one.cause.title for one in causes),
        tuple(round(one.chance * 100, 2) for one in causes),
    )
    axis = Axis("chance", "%", low=0.0, high=100.0)
    return Plot(
        "Likeliest causes", axis, Axis("cause"), (bars, Rule("sure enough", sure * 100, "x"))
    )
