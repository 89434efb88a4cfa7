"""Charge of a parked battery over the hours, with what a start wants and where a cut-off acts."""

from __future__ import annotations

from asfound.jobs.park_battery import ParkBattery, Parked
from asfound.model.plot import Axis, Band, Layer, Line, Plot, Rule


def plot_parked(request: ParkBattery, result: Parked) -> Plot:
    """Per cent over hours; a band where the charge when parked is one."""
    hours = tuple(at for at, _ in result.curve)
    layers: list[Layer] = []
    if request.charge.low < request.charge.high:
        low = tuple(100 * band.low for _, band in result.curve)
        high = tuple(100 * band.high for _, band in result.curve)
        layers.append(Band("from the least to the most charge", hours, low, high))
    layers.append(
        Line("state of charge", hours, tuple(100 * band.likely for _, band in result.curve))
    )
    layers.append(Rule("a start wants", 100 * result.least))
    if result.acts_at is not None:
        layers.append(Rule("cut-off acts", 100 * result.acts_at.likely))
    layers.append(Rule("parked until", request.hours, "x"))
    if request.drain.run_on_h:
        layers.append(Rule("end of run-on", min(request.drain.run_on_h, hours[-1]), "x"))
    return Plot(
        "State of charge of the parked battery",
        Axis("hours parked", "h", low=0.0),
        Axis("state of charge", "%", low=0.0, high=100.0),
        tuple(layers),
    )
