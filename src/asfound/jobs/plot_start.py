"""Starts of the engine over time, against what the recorder needs and takes."""

from __future__ import annotations

import numpy as np

from asfound.calc.crank_dip import Profile
from asfound.jobs.ride_start import RideStart, Started
from asfound.model.plot import Axis, Layer, Line, Plot, Points, Rule, Scale

FIRST_S = 0.001
"""Where the axis begins [s]: dips last for some hundredths of a second, plateaus for ten."""
POINTS = 160


def plot_start(request: RideStart, result: Started) -> Plot:
    """Volts over seconds since the supply began to fall, by powers of ten; a measured start is a
    point at its lowest voltage, or two: from when to when it was low."""
    layers: list[Layer] = [_line(profile, request.supply_v) for profile in result.profiles]
    if request.measured is not None:
        seconds = request.measured.seconds or 0.0
        at = (FIRST_S, seconds) if seconds > FIRST_S else (FIRST_S,)
        layers.append(Points("measured", at, (request.measured.lowest_v,) * len(at)))
    layers.append(Rule("the recorder needs, in front of its leads", result.limit_v))
    if request.range.least_v < result.limit_v:
        layers.append(Rule("the recorder needs, at its plug", request.range.least_v))
    layers.append(Rule("the recorder takes at most", request.range.most_v))
    return Plot(
        "Supply while the engine is started",
        Axis("time", "s", Scale.LOG, FIRST_S, 20.0),
        Axis("supply", "V", low=0.0, high=request.range.most_v),
        tuple(layers),
    )


def _line(profile: Profile, supply_v: float) -> Line:
    """On such an axis straight lines bend: points lie as dense as they are seen."""
    times, volts = profile.line(supply_v)
    grid = np.geomspace(FIRST_S, 1.5 * times[-1], POINTS)
    at = np.unique(np.concatenate([grid, [time for time in times if time > FIRST_S]]))
    seen = np.interp(at, times, volts)
    return Line(f"start {profile.name}", tuple(at.tolist()), tuple(seen.tolist()))
