"""Events a day over the threshold of each direction, and what is accepted, as a plot."""

from __future__ import annotations

from asfound.calc.trigger_choice import USUAL_S, nearest
from asfound.jobs.tune_triggers import Tuned
from asfound.model.plot import Axis, Layer, Line, Plot, Points, Rule, Scale


def plot_triggers(tuned: Tuned) -> Plot:
    """A line for each direction at its own duration, as far as anything came; the settings
    recommended as points. With labels, events outside of them."""
    settings, request = tuned.request.settings, tuned.request
    layers: list[Layer] = []
    picked = {pick.direction: pick for pick in tuned.picks}
    labelled = bool(tuned.labels)
    points: list[tuple[float, float]] = []
    for direction, tally in tuned.tallies.items():
        pick = picked.get(direction)
        d = nearest(USUAL_S, settings) if pick is None else pick.d
        counts = (tally.outside if labelled else tally.events)[:, d] / tally.hours
        seen = [
            (threshold, float(count) * request.hours_a_day)
            for threshold, count in zip(settings.thresholds_g, counts, strict=True)
            if count > 0
        ]
        if seen:
            name = f"{direction.value}, {settings.durations_s[d]:g} s"
            layers.append(Line(name, tuple(x for x, _ in seen), tuple(y for _, y in seen)))
        if pick is not None and counts[pick.level - 1] > 0:
            points.append(
                (
                    settings.thresholds_g[pick.level - 1],
                    float(counts[pick.level - 1]) * request.hours_a_day,
                )
            )
    if points:
        layers.append(
            Points("recommended", tuple(x for x, _ in points), tuple(y for _, y in points))
        )
    if request.budget_a_day is not None:
        layers.append(Rule("accepted", request.budget_a_day))
    what = "events a day outside of labels" if labelled else "events a day"
    return Plot(
        "Events a day over the threshold",
        Axis("threshold", "g", low=0.0),
        Axis(what, scale=Scale.LOG),
        tuple(layers),
    )
