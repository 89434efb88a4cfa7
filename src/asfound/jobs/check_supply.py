"""Supply settings against a lead-acid battery: what a cut-off leaves in it.

A cut-off acts at a charge that lies in a band: tables of rest voltages differ, meters err
(calc/battery_charge.py). It is too low when even the best of the band leaves less than half.
"""

from __future__ import annotations

from collections.abc import Iterator

from asfound.calc.battery_charge import Kind, charge_from_rest, rest_volts
from asfound.jobs.settings_say import Said, Settings, amount, figure
from asfound.model.menu_map import Meaning
from asfound.model.sums import Facts, SettingFault, SettingFinding

LEAST = 0.5
"""Charge [1] that a start wants, and below which lead-acid batteries age fast (common practice, no
source)."""
OF_12: dict[int, Meaning] = {12: "cut-off-12", 24: "cut-off-24"}
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
