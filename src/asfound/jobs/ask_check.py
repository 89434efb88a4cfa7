"""What was typed beside a recorder's settings, laid over what the fleet file says."""

from __future__ import annotations

from dataclasses import replace

from asfound.errors import UsageError
from asfound.jobs.asked import Fields, figure, one_of, quantity, text_of
from asfound.jobs.asked_power import HOURS, amperes_of
from asfound.model.sums import Facts
from asfound.ports.zones import packaged_zone
from asfound.units import BYTES


def ask_facts(fields: Fields, known: Facts) -> Facts:
    """Fields: drive 1TB · hours 12 · week 5 (days) · promised, lawful (days) · events 3 (a day) ·
    kind lorry or bus · supply 12 or 24 · zone Europe/London · year 2027 · pulses 8180-8240 ·
    battery 170Ah · draws 25W or 1A · parked 62h or 3d. What is blank stays as ``known``. Raises
    UsageError."""

    def number(name: str, low: float, high: float, before: float | None) -> float | None:
        text = text_of(fields, name)
        return figure(text, name, low, high) if text else before

    drive, kind, zone = text_of(fields, "drive"), text_of(fields, "kind"), text_of(fields, "zone")
    supply, pulses = text_of(fields, "supply"), text_of(fields, "pulses")
    year = number("year", 1970, 2999, known.year)
    if zone:
        packaged_zone(zone)
    volts = int(one_of(supply, "supply", ("12", "24"))) if supply else known.supply_volts
    battery, parked = text_of(fields, "battery"), text_of(fields, "parked")
    draws = text_of(fields, "draws")
    if draws.casefold().endswith("w") and volts is None:
        raise UsageError("draws: watts want the vehicle's volts too; say supply, or amperes")
    return replace(
        known,
        battery_ah=quantity(battery, "battery", {"Ah": 1.0}, 1e5) if battery else known.battery_ah,
        draws_a=amperes_of(fields, "draws", volts or 1, "0A") if draws else known.draws_a,
        parked_h=quantity(parked, "parked", HOURS, 1e5) if parked else known.parked_h,
        drive_bytes=quantity(drive, "drive", BYTES) if drive else known.drive_bytes,
        hours_a_day=number("hours", 0.01, 24, known.hours_a_day),
        days_a_week=number("week", 0.25, 7, known.days_a_week) or 7.0,
        promised_days=number("promised", 0.01, 99_999, known.promised_days),
        lawful_days=number("lawful", 0.01, 99_999, known.lawful_days),
        events_a_day=number("events", 0, 10_000, known.events_a_day),
        vehicle_kind=one_of(kind, "kind", ("lorry", "bus")) if kind else known.vehicle_kind,
        supply_volts=volts,
        time_zone=zone or known.time_zone,
        year=int(year) if year else None,
        pulses_per_km=_pulses(pulses) if pulses else known.pulses_per_km,
    )


def _pulses(text: str) -> tuple[float, float]:
    low, dash, high = text.partition("-")
    if not low.strip() or (dash and not high.strip()):
        raise UsageError(f"pulses: {text!r} is no least and most; write 8180-8240")
    found = [figure(part.strip(), "pulses", 100, 1e6) for part in (low, high or low)]
    if found[0] > found[1]:
        raise UsageError(f"pulses {text}: the first is the least, the second the most")
    return found[0], found[1]
