"""Clocks, drawn: drift, a year of a zone, two logs laid over each other."""

from __future__ import annotations

import numpy as np

from asfound.calc.clock_drift import DAY_S
from asfound.jobs.clock_drift import DriftFound, FindDrift
from asfound.jobs.match_logs import Matched, MatchLogs
from asfound.jobs.watch_speed import speeds_of
from asfound.jobs.zone_table import ZoneTable
from asfound.model.plot import Axis, Band, Layer, Line, Plot, Points, Rule, Scale

SHOWN_S = 300.0
"""So much of two logs can be told apart by eye."""
STEPS = 60


def plot_drift(request: FindDrift, found: DriftFound) -> Plot | None:
    """Readings, the line since the last setting with its band, and what is allowed."""
    drift = found.drift
    if drift is None:
        return None
    first, last = drift.read[0].at_s, drift.read[-1].at_s
    start = max(jump.before_s for jump in drift.jumps) if drift.jumps else first
    span = max(last - first, 30 * DAY_S)
    soon = found.passing.likely_s if found.passing else None
    end = last + min(span * 2, (soon or last + span) - last + span * 0.1)
    times = np.linspace(start, end, STEPS)
    middle = [drift.offset_at(at) for at in times]
    layers: list[Layer] = [
        Points(
            "read", tuple(one.at_s for one in drift.read), tuple(o.offset_s for o in drift.read)
        ),
        Line("drift", tuple(times.tolist()), tuple(middle)),
        Rule("allowed", request.allowed_s, "y"),
        Rule("allowed", -request.allowed_s, "y"),
    ]
    if drift.high_ppm is not None:
        error = [drift.error_at(at) for at in times]
        low, high = ([m + sign * e for m, e in zip(middle, error, strict=True)] for sign in (-1, 1))
        layers.insert(0, Band("95 %", tuple(times.tolist()), tuple(low), tuple(high)))
    if drift.off:
        stray = tuple(one.at_s for one in drift.off)
        layers.append(Points("out of line", stray, tuple(one.offset_s for one in drift.off)))
    return Plot(
        "How far the recorder's clock is ahead",
        Axis("date", scale=Scale.TIME),
        Axis("recorder - true", "s"),
        tuple(layers),
    )


def plot_zone(table: ZoneTable) -> Plot:
    """The recorder's error over the year."""
    times, errors = [table.start.timestamp()], [0.0]
    for span in table.spans:
        start, end = span.start.timestamp(), span.end.timestamp()
        hours = span.error_s / 3600
        times += [start, start, end, end]
        errors += [0.0, hours, hours, 0.0]
    times.append(table.end.timestamp())
    errors.append(0.0)
    return Plot(
        "What the recorder would show too much, over the year",
        Axis("date", scale=Scale.TIME),
        Axis("recorder - true", "h"),
        (Line("error", tuple(times), tuple(errors)),),
    )


def plot_match(request: MatchLogs, matched: Matched) -> Plot | None:
    """Five minutes of both logs, the recorder's put right; None where they could not be matched."""
    match = matched.match
    if match is None or not matched.sure:
        return None
    recorder, _ = speeds_of(request.recorder.track)
    reference, _ = speeds_of(request.reference.track)
    shown = recorder.times_s - match.offset_s
    low = max(shown[0], reference.times_s[0])
    high = min(shown[-1], reference.times_s[-1])
    # From the middle: most logs begin and end standing.
    start = max(low, (low + high - SHOWN_S) / 2)
    layers = []
    for name, times, speed in (
        ("recorder, put right", shown, recorder.speed_ms),
        ("reference", reference.times_s, reference.speed_ms),
    ):
        kept = (times >= start) & (times <= start + SHOWN_S) & np.isfinite(speed)
        x, y = times[kept] - start, speed[kept] * 3.6
        layers.append(Line(name, tuple(x.tolist()), tuple(y.tolist())))
    return Plot(
        "Both logs, laid over each other",
        Axis("time", "s", low=0.0),
        Axis("speed", "km/h", low=0.0),
        tuple(layers),
    )
