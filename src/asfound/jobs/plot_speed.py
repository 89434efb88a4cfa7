"""Speed triggers and wheel pulses, drawn."""

from __future__ import annotations

from asfound.jobs.calibrate_pulses import Calibrated, CalibratePulses
from asfound.jobs.watch_speed import Watched, WatchSpeed
from asfound.model.plot import Axis, Layer, Line, Plot, Points, Rule


def plot_watch(request: WatchSpeed, watched: Watched) -> Plot | None:
    """Events a day over the limit, a line for each duration; None without a table."""
    if not watched.table:
        return None
    layers: list[Layer] = [
        Line(
            f"at least {lasting:g} s",
            request.limits_kmh,
            tuple(row[column] / watched.days for row in watched.table),
        )
        for column, lasting in enumerate(request.lasting_s)
    ]
    layers.append(Rule("limit asked", request.limit_kmh, "x"))
    if request.budget is not None:
        layers.append(Rule("budget", request.budget, "y"))
    return Plot(
        "Speed events a day, by limit and duration",
        Axis("limit", "km/h"),
        Axis("events a day", low=0.0),
        tuple(layers),
    )


def plot_pulses(request: CalibratePulses, made: Calibrated) -> Plot | None:
    """Pulses over distance, a point a minute, the line through them and the one that is set."""
    windows, rate = made.windows, made.rate
    if rate is None:
        return None
    km = (windows.metres / 1000).tolist()
    far = max(km)
    layers: list[Layer] = [
        Points("a minute of driving", tuple(km), tuple(windows.pulses.tolist())),
        Line(f"measured, {rate.per_km:.0f} a km", (0.0, far), (0.0, far * rate.per_km)),
    ]
    if request.setting is not None:
        line = (0.0, far * request.setting)
        layers.append(Line(f"set, {request.setting:g} a km", (0.0, far), line, dashed=True))
    return Plot(
        "Wheel pulses over satellite distance",
        Axis("distance in a minute", "km", low=0.0),
        Axis("pulses", low=0.0),
        tuple(layers),
    )
