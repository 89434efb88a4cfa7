"""Days kept by drives of other sizes, beside what was promised and is lawful, as a plot."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from asfound.jobs.size_storage import SizeStorage, size_storage
from asfound.model.plot import Axis, Band, Layer, Line, Plot, Points, Rule
from asfound.units import TB

STEPS = 32


def plot_storage(requests: Sequence[tuple[str, SizeStorage]]) -> Plot:
    """``requests`` by name, at least one; the first with its band. Drives from nothing to twice
    the largest; a reserve given in bytes stays what it is."""
    largest = max(request.room.drive_bytes for _, request in requests)
    layers: list[Layer] = []
    for number, (name, request) in enumerate(requests):
        sizes = [2 * largest * step / STEPS for step in range(1, STEPS + 1)]
        days = [
            size_storage(replace(request, room=replace(request.room, drive_bytes=size))).days
            for size in sizes
        ]
        across = tuple(size / TB for size in sizes)
        if not number:
            low, high = tuple(day.low for day in days), tuple(day.high for day in days)
            layers.append(Band("from bad weeks to good ones", across, low, high))
        layers.append(Line(name, across, tuple(day.likely for day in days)))
    at = tuple(request.room.drive_bytes / TB for _, request in requests)
    kept = tuple(size_storage(request).days.likely for _, request in requests)
    layers.append(Points("these drives", at, kept))
    first = requests[0][1]
    if first.promised_days is not None:
        layers.append(Rule("promised", first.promised_days))
    if first.lawful_days is not None:
        layers.append(Rule("lawful", first.lawful_days))
    return Plot(
        "Days kept by drives of other sizes",
        Axis("drive", "TB", low=0.0),
        Axis("days kept", "d", low=0.0),
        tuple(layers),
    )
