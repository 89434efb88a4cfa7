"""What a recorder leaves in the battery of a parked vehicle, and what would protect it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from math import ceil

from asfound.calc.battery_charge import (
    METER,
    TABLES,
    Battery,
    charge_at,
    freezing_c,
    rest_volts,
)
from asfound.calc.days_kept import Band
from asfound.calc.parked_drain import Drain, charge_after, hours_until, longest_run_on

KEEP = 0.5
"""Charge that has to be left for a start in the warm [1] (common practice, no source)."""
CURVE_STEPS = 240
COLD_MARGIN_C = 3.0
"""How near to its freezing point a battery may come [K] (own choice: tables differ)."""


class ParkFault(StrEnum):
    """What is wrong with leaving it so."""

    NO_START = "too-little-left-to-start"
    MAY_NOT_START = "may-be-too-little-left-to-start"
    RUN_ON = "run-on-too-long"
    CUT_OFF_LOW = "cut-off-too-low"
    CUT_OFF_MAY_BE_LOW = "cut-off-may-be-too-low"
    CUT_OFF_HIGH = "cut-off-too-high"
    FREEZES = "may-freeze"
    LOW_AT_PARK = "too-little-charge-when-parked"


@dataclass(frozen=True, slots=True)
class ParkFinding:
    """``measured`` against ``limit`` in ``unit``, and what a person would say."""

    kind: ParkFault
    measured: float
    limit: float
    unit: str
    note: str


@dataclass(frozen=True, slots=True)
class ParkBattery:
    """A battery with ``charge`` [1] when the ignition goes off, parked for ``hours`` [h].

    ``cut_off_v``: the recorder switches itself off below this [V], measured at its plug behind
    leads of ``lead_ohms`` [ohm] there and back. ``recorder_a``: what the recorder alone draws
    running on and asleep [A]. ``keep`` [1]: charge that a start needs in the warm.
    """

    battery: Battery
    drain: Drain
    charge: Band
    hours: float
    recorder_a: tuple[float, float]
    cut_off_v: float | None = None
    lead_ohms: float = 0.0
    keep: float = KEEP


@dataclass(frozen=True, slots=True)
class Parked:
    """Bands go from the least charge when parked to the most.

    ``least`` [1]: charge that a start needs at this temperature; ``at_end`` [1]: after the hours;
    ``until_least_h`` [h], endless as infinity; ``run_on_h`` [h]: the longest that leaves enough,
    for the least, likely and most charge (None: not even without). ``safe_cut_off_v`` [V] at the
    recorder's plug, and what the battery is likely to show there when it was parked and has rested;
    ``acts_at`` [1]: the charge at which the recorder's own cut-off acts while it
    sleeps (None: none was named). ``freezing_c``: of the acid at the end, least charge. ``curve``:
    hours [h] and the band of charge [1].
    """

    least: float
    at_end: Band
    until_least_h: tuple[float, float, float]
    run_on_h: tuple[float | None, float | None, float | None]
    safe_cut_off_v: float
    parked_v: float
    acts_at: Band | None
    freezing_c: float
    curve: tuple[tuple[float, Band], ...]
    findings: tuple[ParkFinding, ...] = ()

    @property
    def cut_off_serves(self) -> bool:
        """Whether a safe cut-off leaves any run-on; else only a shorter time protects."""
        return self.safe_cut_off_v < self.parked_v


def park_battery(request: ParkBattery) -> Parked:
    """The sums."""
    battery, drain, charge = request.battery, request.drain, request.charge
    least = battery.least_charge(request.keep)
    each = (charge.low, charge.likely, charge.high)
    low, likely, high = (hours_until(battery, drain, one, least) for one in each)
    first, second, third = (
        longest_run_on(battery, drain, one, least, request.hours) for one in each
    )
    at_end = _after(request, request.hours)
    result = Parked(
        least,
        at_end,
        (low, likely, high),
        (first, second, third),
        _safe_cut_off(request, least),
        _plug_volts(request, charge.likely),
        _acts_at(request, request.recorder_a[1]),
        freezing_c(at_end.low),
        _curve(request, likely),
    )
    found = (
        *_of_start(request, result),
        *_of_cut_off(request, result),
        *_of_frost(request, result),
    )
    return replace(result, findings=found)


def _after(request: ParkBattery, hours: float) -> Band:
    battery, drain, charge = request.battery, request.drain, request.charge
    low, likely, high = (
        charge_after(battery, drain, one, hours) for one in (charge.low, charge.likely, charge.high)
    )
    return Band(low, likely, high)


def _curve(request: ParkBattery, likely_h: float) -> tuple[tuple[float, Band], ...]:
    """To the end of parking and a little beyond the start's limit, but not endlessly."""
    hours = request.hours
    end = max(hours * 1.1, min(likely_h * 1.2, hours * 3))
    marks = {end * step / CURVE_STEPS for step in range(CURVE_STEPS + 1)}
    marks.add(min(request.drain.run_on_h, end))
    return tuple((at, _after(request, at)) for at in sorted(marks))


def _safe_cut_off(request: ParkBattery, least: float) -> float:
    """At the plug of a recorder that sleeps [V]: by the table with the highest voltage and a meter
    that reads METER high, rounded up to a tenth; leads take off what they lose."""
    battery = request.battery
    volts = rest_volts(battery.kind, least).high * battery.in_series
    seen = (volts - request.lead_ohms * request.recorder_a[1]) / (1 - METER)
    return ceil(seen * 10 - 1e-9) / 10


def _acts_at(request: ParkBattery, amperes: float) -> Band | None:
    """The charge [1] at which the cut-off acts, by all tables and METER either way."""
    if request.cut_off_v is None:
        return None
    battery, lost = request.battery, request.lead_ohms * amperes
    volts, off = request.cut_off_v, request.cut_off_v * METER
    tables = TABLES[battery.kind]
    low = min(charge_at((volts - off + lost) / battery.in_series, one) for one in tables)
    high = max(charge_at((volts + off + lost) / battery.in_series, one) for one in tables)
    return Band(low, charge_at((volts + lost) / battery.in_series, tables[0]), high)


def _of_start(request: ParkBattery, result: Parked) -> list[ParkFinding]:
    least, hours, charge = result.least, request.hours, request.charge
    found = []
    if charge.high < least:
        note = (
            f"{charge.likely:.0%} charge is too little for a start before anything is drawn: "
            f"{least:.0%} is wanted"
        )
        return [ParkFinding(ParkFault.LOW_AT_PARK, charge.likely, least, "1", note)]
    low, likely, high = result.until_least_h
    if high < hours:
        note = (
            f"after {likely:.0f} h too little is left for a start, the vehicle stands for "
            f"{hours:g} h"
        )
        found.append(ParkFinding(ParkFault.NO_START, likely, hours, "h", note))
    elif low < hours:
        note = (
            f"at the worst too little is left for a start after {low:.0f} h; the vehicle stands "
            f"for {hours:g} h"
        )
        if likely < hours:
            note = (
                f"too little is likely to be left for a start after {likely:.0f} h, at the worst "
                f"after {low:.0f} h; the vehicle stands for {hours:g} h"
            )
        found.append(ParkFinding(ParkFault.MAY_NOT_START, low, hours, "h", note))
    longest = result.run_on_h[0]
    run_on = request.drain.run_on_h
    if found and longest is not None and run_on > longest:
        note = f"run-on of {run_on:g} h is too long: {longest:.1f} h leave enough for a start"
        found.append(ParkFinding(ParkFault.RUN_ON, run_on, longest, "h", note))
    return found


def _of_cut_off(request: ParkBattery, result: Parked) -> list[ParkFinding]:
    acts, volts, least = result.acts_at, request.cut_off_v, result.least
    running = _acts_at(request, request.recorder_a[0])
    if acts is None or running is None or volts is None:
        return []
    found = []
    if acts.low < least:
        sure = acts.high < least
        kind = ParkFault.CUT_OFF_LOW if sure else ParkFault.CUT_OFF_MAY_BE_LOW
        note = (
            f"a cut-off at {volts:g} V acts at {acts.low:.0%} to {acts.high:.0%} of charge, a "
            f"start wants {least:.0%}: set {result.safe_cut_off_v:.1f} V"
        )
        found.append(ParkFinding(kind, volts, result.safe_cut_off_v, "V", note))
    run_on_h = min(request.drain.run_on_h, request.hours)
    left = _after(request, run_on_h).likely
    if run_on_h and running.likely > left:
        note = (
            f"a cut-off at {volts:g} V acts at {running.likely:.0%} of charge, before the run-on "
            f"of {run_on_h:g} h is over"
        )
        most = _plug_volts(request, left)
        found.append(ParkFinding(ParkFault.CUT_OFF_HIGH, volts, most, "V", note))
    return found


def _plug_volts(request: ParkBattery, charge: float) -> float:
    """What the plug of a recorder that runs on is likely to see [V]."""
    battery = request.battery
    volts = rest_volts(battery.kind, charge).likely * battery.in_series
    return volts - request.lead_ohms * request.recorder_a[0]


def _of_frost(request: ParkBattery, result: Parked) -> list[ParkFinding]:
    celsius, freezes = request.battery.celsius, result.freezing_c
    if celsius > freezes + COLD_MARGIN_C:
        return []
    note = (
        f"at {celsius:g} °C a battery with {result.at_end.low:.0%} of charge may freeze and burst: "
        f"its acid freezes near {freezes:.0f} °C"
    )
    return [ParkFinding(ParkFault.FREEZES, celsius, freezes, "°C", note)]
