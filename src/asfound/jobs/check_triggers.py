"""Shock and speed triggers against what driving is known to do.

speed change of the least shock = threshold * duration * 9.80665 * 3.6   [km/h]
"""

from __future__ import annotations

from collections.abc import Iterator

from asfound.jobs.settings_say import Said, Settings, figure
from asfound.model.menu_map import Meaning
from asfound.model.sums import Facts, SettingFault, SettingFinding

G_MS2 = 9.80665
"""Standard gravity (CGPM 1901)."""
LOW_G = 3.25 / G_MS2
"""UN R169 takes an event of a heavy vehicle from 3.25 m/s2 for 0.7 s on (draft summary, read);
weaker braking is ordinary driving."""
HIGH_G: dict[Meaning, tuple[float, str]] = {
    "shock-braking": (0.7, "58 % of emergency stops reach 0.7 g (Dinakar and Muttart, by a note)"),
    "shock-along": (0.7, "58 % of emergency stops reach 0.7 g (Dinakar and Muttart, by a note)"),
    "shock-cornering": (0.5, "a hard turn is 0.50 g in research (Simons-Morton et al., memory)"),
}  # fmt: skip
"""Thresholds [g] that hard driving hardly reaches, and who says so."""
BUMP_KMH = 0.8
"""A speed change of which event recorders of cars say that an event begins (49 CFR 563.5)."""
COLLISION_KMH = 8.0
"""A speed change that is an event for them, within 150 ms (49 CFR 563.5)."""
LIMITER_KMH = {"lorry": 90.0, "bus": 100.0}
"""What speed limiters of heavy lorries and buses allow (Directive 92/6/EEC as amended by
2002/85/EC, from memory)."""
PULSES_OFF = 0.02
"""Wheel pulses that are further off shift speed and distance: a tachograph fitted to a
vehicle may be 2 % off in distance (from memory)."""
ALONG_ROAD: tuple[Meaning, ...] = ("shock-braking", "shock-along", "shock-cornering")


def check_shocks(settings: Settings) -> Iterator[SettingFinding]:
    """Thresholds in ordinary driving, hardly reached, and shocks no longer than a bump."""
    lasts = settings.one("shock-duration")
    seconds = figure(lasts)
    for means in ALONG_ROAD:
        for said in settings.all(means):
            threshold = figure(said)
            if threshold is None:
                continue
            yield from _threshold(said, means, threshold)
            change = threshold * (seconds or 0.0) * G_MS2 * 3.6
            if lasts is not None and seconds and change < BUMP_KMH:
                note = (
                    f"{said.field.label}: {threshold:g} g for {seconds:g} s is a speed change of "
                    f"{change:.2f} km/h, as a pothole gives"
                )
                yield SettingFinding(
                    SettingFault.TRIGGER_SHORT, (said.field.id, lasts.field.id), change, BUMP_KMH,
                    "km/h", "49 CFR 563.5", note,
                )  # fmt: skip


def _threshold(said: Said, means: Meaning, threshold: float) -> Iterator[SettingFinding]:
    label = said.field.label
    if threshold < LOW_G:
        note = f"{label}: {threshold:g} g is ordinary driving; hard braking begins at {LOW_G:.2f} g"
        yield SettingFinding(
            SettingFault.TRIGGER_LOW, (said.field.id,), threshold, LOW_G, "g", "UN R169", note
        )
    high, who = HIGH_G[means]
    if threshold > high:
        note = f"{label}: hard driving hardly reaches {threshold:g} g; {high:g} g is seldom enough"
        yield SettingFinding(
            SettingFault.TRIGGER_HIGH, (said.field.id,), threshold, high, "g", who, note
        )


def check_speed(settings: Settings, facts: Facts) -> Iterator[SettingFinding]:
    """A speed trigger above what the limiter allows, and wheel pulses that are off."""
    said = settings.one("speed-threshold")
    threshold = figure(said)
    limiter = LIMITER_KMH.get(facts.vehicle_kind or "")
    if said is not None and threshold is not None and limiter and threshold > limiter:
        note = (
            f"{said.field.label}: {threshold:g} km/h is above the limiter of a "
            f"{facts.vehicle_kind} at {limiter:g} km/h"
        )
        yield SettingFinding(
            SettingFault.SPEED_HIGH, (said.field.id,), threshold, limiter, "km/h",
            "Directive 92/6/EEC", note,
        )  # fmt: skip
    pulses, measured = settings.one("wheel-pulses"), facts.pulses_per_km
    set_to = figure(pulses)
    if pulses is None or not set_to or measured is None:
        return
    low, high = measured
    nearest = min(max(set_to, low), high)
    if abs(set_to / nearest - 1) > PULSES_OFF:
        off = nearest / set_to - 1
        way = "high" if off > 0 else "low"
        note = (
            f"{pulses.field.label}: {set_to:g} pulses a km are set, {low:.0f} to {high:.0f} were "
            f"measured; speed is shown {abs(off):.1%} too {way}"
        )
        yield SettingFinding(
            SettingFault.PULSES, (pulses.field.id,), set_to, nearest, "1/km", "measured", note
        )
