"""Starting profiles of ISO 16750-2 against what a recorder's supply needs.

A profile is a line from the supply before the start down to the dip, along it, up to the plateau,
along that, and back. A recorder behind leads gets less: with constant power P over R ohm it gets
its least voltage U when the supply is at U + R * P / U; so the limit is raised instead of the
profile lowered. Time below the limit is exact: crossings of straight lines.

The standard's ripple of 2 Hz rides on the plateau and never goes below it; it is not drawn.
Codes, dips, plateaus and times: ISO 16750-2:2023, tables 3 and 4 and 4.6.3, read in public files
that transcribe them, not in the standard. The rise at the end (40 or 100 ms) is from memory but for
24 V, III.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import sqrt
from typing import NamedTuple

from asfound.calc.supply_leads import Lead


class Range(NamedTuple):
    """Supply voltages between which a recorder works [V]."""

    least_v: float
    most_v: float


CODES: dict[str, Range] = {
    "A": Range(6, 16),
    "B": Range(8, 16),
    "C": Range(9, 16),
    "D": Range(10.5, 16),
    "E": Range(10, 32),
    "F": Range(16, 32),
    "G": Range(22, 32),
    "H": Range(18, 32),
}
"""A to D for 12 V, E to H for 24 V. Not in rising order: G asks for more than H."""


@dataclass(frozen=True, slots=True)
class Profile:
    """``dip_v`` and ``plateau_v`` [V]; ``fall_s``, ``dip_s``, ``rise_s`` to the plateau,
    ``plateau_s``, and ``back_s`` to the supply again [s]."""

    name: str
    dip_v: float
    plateau_v: float
    plateau_s: float
    fall_s: float
    dip_s: float
    rise_s: float
    back_s: float

    def line(self, supply_v: float) -> tuple[tuple[float, ...], tuple[float, ...]]:
        """Times [s] from the start of the fall, and voltages [V]; begins and ends at
        ``supply_v``."""
        steps = (self.fall_s, self.dip_s, self.rise_s, self.plateau_s, self.back_s)
        times = [0.0]
        for step in steps:
            times.append(times[-1] + step)
        dip, plateau = self.dip_v, self.plateau_v
        return tuple(times), (supply_v, dip, dip, plateau, plateau, supply_v)


PROFILES: dict[int, tuple[Profile, ...]] = {
    12: (
        Profile("I", 8.0, 9.5, 1, 0.005, 0.015, 0.05, 0.04),
        Profile("II", 4.5, 6.5, 10, 0.005, 0.015, 0.05, 0.1),
        Profile("III", 3.0, 5.0, 1, 0.005, 0.015, 0.05, 0.1),
        Profile("IV", 6.0, 6.5, 10, 0.005, 0.015, 0.05, 0.1),
    ),
    24: (
        Profile("I", 10, 20, 1, 0.01, 0.05, 0.05, 0.04),
        Profile("II", 8, 15, 10, 0.01, 0.05, 0.05, 0.1),
        Profile("III", 6, 10, 1, 0.01, 0.05, 0.05, 0.04),
    ),
}
"""By the vehicle's voltage [V]."""


class Event(NamedTuple):
    """Too much voltage, as a test of the standard puts it on: ``volts`` [V]."""

    name: str
    volts: float
    note: str


EVENTS: dict[int, tuple[Event, ...]] = {
    12: (
        Event("running", 14, "alternator on"),
        Event("long overvoltage", 18, "1 h, a regulator that failed"),
        Event("jump start", 26, "60 s, started from a 24 V vehicle"),
        Event("load dump, suppressed", 35, "typically; the battery comes off while charging"),
        Event("load dump, unsuppressed", 101, "79 to 101 V"),
    ),
    24: (
        Event("running", 28, "alternator on"),
        Event("long overvoltage", 36, "1 h, a regulator that failed"),
        Event("load dump, suppressed", 58, "typically; the battery comes off while charging"),
        Event("load dump, unsuppressed", 202, "151 to 202 V, 100 to 350 ms"),
    ),
}
"""By the vehicle's voltage [V] (ISO 16750-2:2023, 4.3 to 4.6, read in a public file)."""
OFF_V = {12: 12.0, 24: 24.0}
"""Supply with the alternator off [V] (ISO 16750-1, read in a public file)."""


def limit_before_leads(least_v: float, watts: float, lead: Lead | None) -> float:
    """Supply [V] at which ``least_v`` [V] arrive behind ``lead`` with a load of ``watts`` [W].

    Where the voltage breaks down before that, the supply [V] at which it does: 2 * sqrt(R * P).
    """
    if lead is None:
        return least_v
    lost = lead.ohms * watts
    arrives = max(least_v, sqrt(lost))
    return arrives + lost / arrives


class Below(NamedTuple):
    """From when to when a line is below a limit [s]."""

    start_s: float
    end_s: float

    @property
    def seconds(self) -> float:
        """How long [s]."""
        return self.end_s - self.start_s


def time_below(times: tuple[float, ...], volts: tuple[float, ...], limit_v: float) -> Below | None:
    """The first time below ``limit_v`` [V] to the last; None: never.

    ``times`` [s] and ``volts`` [V] are the corners of straight lines. A line that rises above the
    limit in between counts as below: a recorder that fell out does not come back within a start.
    """
    spans = []
    corners = list(zip(times, volts, strict=True))
    for (from_s, from_v), (to_s, to_v) in pairwise(corners):
        if min(from_v, to_v) >= limit_v:
            continue
        start, end = from_s, to_s
        if from_v >= limit_v:
            start = from_s + (to_s - from_s) * (from_v - limit_v) / (from_v - to_v)
        if to_v >= limit_v:
            end = from_s + (to_s - from_s) * (limit_v - from_v) / (to_v - from_v)
        spans.append((start, end))
    return Below(spans[0][0], spans[-1][1]) if spans else None
