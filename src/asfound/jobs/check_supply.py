"""Supply settings against a lead-acid battery: what a cut-off leaves in it.

A cut-off acts at a charge that lies in a band: tables of rest voltages differ, meters err
(calc/battery_charge.py). It is too low when even the best of the band leaves less than half.
"""

from __future__ import annotations

from collections.abc import Iterator

from asfound.calc.battery_charge import Battery, Kind, charge_from_rest, rest_volts
from asfound.calc.days_kept import Band
from asfound.calc.parked_drain import Drain
from asfound.jobs.park_battery import ParkBattery, ParkFault, park_battery
from asfound.jobs.settings_say import Said, Settings, amount, figure
from asfound.model.menu_map import Meaning
from asfound.model.sums import Facts, SettingFault, SettingFinding
from asfound.units import HOUR_S

LEAST = 0.5
"""Charge [1] that a start wants, and below which lead-acid batteries age fast (common practice, no
source)."""
OF_12: dict[int, Meaning] = {12: "cut-off-12", 24: "cut-off-24"}
CHARGED = Band(0.8, 0.9, 1.0)
"""Charge [1] of a battery when the ignition goes off (common practice, no source)."""
EMPTY = 0.05
"""Charge [1] that no table tells from nothing."""
TABLES = "rest voltages of lead-acid batteries, trade tables"


def check_supply(settings: Settings, facts: Facts) -> Iterator[SettingFinding]:
    """Cut-off, cut-in, and the supply that is set. Nothing where the supply is not known."""
    volts = facts.supply_volts
    if volts is None:
        return
    system = settings.one("supply-volts")
    if system is not None and amount(system) in ("12", "24") and amount(system) != str(volts):
        note = f"{system.field.label}: {amount(system)} V is set, the vehicle has {volts} V"
        yield SettingFinding(
            SettingFault.SUPPLY, (system.field.id,), float(amount(system)), volts, "V",
            "fleet file", note,
        )  # fmt: skip
    off = settings.one("cut-off") or settings.one(OF_12[volts])
    stops = figure(off)
    if off is None or stops is None:
        return
    yield from _cut_off(off, stops, volts)
    back = settings.one("cut-in")
    starts = figure(back)
    if back is not None and starts is not None and starts <= stops:
        note = f"{back.field.label}: {starts:g} V is not above the cut-off at {stops:g} V"
        yield SettingFinding(
            SettingFault.CUT_IN, (back.field.id, off.field.id), starts, stops, "V", "plain sense",
            note,
        )  # fmt: skip


def check_run_on(settings: Settings, facts: Facts) -> Iterator[SettingFinding | str]:
    """A run-on after which too little is likely to be left for a start, or why that was left
    out."""
    run_on, volts = settings.one("run-on"), facts.supply_volts
    seconds = figure(run_on)
    if run_on is None or seconds is None:
        return
    if volts is None or not facts.battery_ah or not facts.draws_a or not facts.parked_h:
        yield "run-on: battery, what the recorder draws and how long it parks are not known"
        return
    hours = seconds / HOUR_S
    request = ParkBattery(
        Battery(facts.battery_ah, volts),
        Drain(facts.draws_a, hours, 0.0),
        CHARGED,
        facts.parked_h,
        (facts.draws_a, 0.0),
    )
    for one in park_battery(request).findings:
        if one.kind == ParkFault.RUN_ON:
            note = f"{run_on.field.label}: {one.note}"
            yield SettingFinding(
                SettingFault.RUN_ON, (run_on.field.id,), hours, one.limit, "h",
                "asfound power parked", note,
            )  # fmt: skip


def _cut_off(off: Said, stops: float, volts: int) -> Iterator[SettingFinding]:
    series = volts / 12
    left = charge_from_rest(stops / series, Kind.FLOODED, meter=0.0)
    wanted = rest_volts(Kind.FLOODED, LEAST).high * series
    full = rest_volts(Kind.FLOODED, 1.0).low * series
    if left.high < LEAST:
        most = "next to none" if left.high < EMPTY else f"at most {left.high:.0%}"
        note = (
            f"{off.field.label}: at {stops:g} V {most} of the charge is left; for half of it set "
            f"{wanted:.1f} V"
        )
        yield SettingFinding(
            SettingFault.CUT_OFF_LOW, (off.field.id,), stops, wanted, "V", TABLES, note
        )
    elif stops >= full:
        note = f"{off.field.label}: {stops:g} V is what a full battery rests at; it acts at once"
        yield SettingFinding(
            SettingFault.CUT_OFF_HIGH, (off.field.id,), stops, full, "V", TABLES, note
        )
