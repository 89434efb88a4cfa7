"""What was typed about a parked vehicle's battery and recorder, as a request for the sums."""

from __future__ import annotations

from math import inf

from asfound.calc.battery_charge import Battery, Kind, charge_from_rest
from asfound.calc.days_kept import Band
from asfound.calc.parked_drain import Drain
from asfound.errors import UsageError
from asfound.jobs.asked import Fields, needed, one_of, text_of
from asfound.jobs.asked_power import (
    HOURS,
    VOLTS,
    amount,
    amount_of,
    amperes_of,
    lead_of,
    percent,
    system_of,
)
from asfound.jobs.park_battery import ParkBattery

CAUTIONS = ("park", "battery", "isolator", "high-voltage")
"""What to look out for at this work: ids of data/cautions.toml."""
NAMES = (
    "system", "battery", "kind", "health", "celsius", "charge", "rest_volts", "rested", "meter",
    "run_on", "run_on_draws", "sleep_draws", "vehicle_draws", "parked", "keep", "cut_off", "length",
    "section", "lead_celsius",
)  # fmt: skip
"""The fields: system 24V · battery 170Ah · kind flooded, agm, gel · health 80% · celsius -5 ·
charge 90%, or rest_volts 25.1V after rested 8h by a meter off by 1% · run_on 4h at run_on_draws 25W
· sleep_draws 15mA · vehicle_draws 60mA · parked 62h or 3d · keep 50% · cut_off 24.4V · length 8m ·
section 1.5mm2."""


def ask_parked(fields: Fields) -> ParkBattery:
    """The request. Raises UsageError."""
    system = system_of(fields)
    battery = Battery(
        amount(needed(fields, "battery", "170Ah"), "battery", {"Ah": 1.0}, 1, 100_000),
        system,
        Kind(one_of(text_of(fields, "kind", "flooded").casefold(), "kind", list(Kind))),
        percent(fields, "health", "80%", 0.05, 1),
        amount(text_of(fields, "celsius", "20"), "celsius", {"°C": 1.0, "C": 1.0}, -60, 80),
    )
    running = amperes_of(fields, "run_on_draws", system, "0A")
    asleep = amperes_of(fields, "sleep_draws", system, "0A")
    vehicle = amperes_of(fields, "vehicle_draws", system, "0A")
    run_on = amount(text_of(fields, "run_on", "0h"), "run_on", HOURS, 0, 100_000)
    lead = lead_of(fields)
    return ParkBattery(
        battery,
        Drain(running + vehicle, run_on, asleep + vehicle),
        _charge(fields, battery),
        amount(needed(fields, "parked", "62h"), "parked", HOURS, 0.1, 100_000),
        (running, asleep),
        amount_of(fields, "cut_off", VOLTS, 0.5, 1000),
        lead.ohms if lead is not None else 0.0,
        percent(fields, "keep", "50%", 0.05, 0.95),
    )


def _charge(fields: Fields, battery: Battery) -> Band:
    said, volts = text_of(fields, "charge"), amount_of(fields, "rest_volts", VOLTS, 0.5, 100)
    if bool(said) == (volts is not None):
        raise UsageError("say the charge when parked, 90%, or the rest voltage, 25.1V; one of them")
    if volts is None:
        charge = percent(fields, "charge", "90%", 0.01, 1)
        return Band(charge, charge, charge)
    meter = percent(fields, "meter", "1%", 0, 0.1)
    rested = amount_of(fields, "rested", HOURS, 0, 100_000)
    each = volts / battery.in_series
    if not 9 <= each <= 13.8:
        raise UsageError(
            f"rest_volts {volts:g} V: a battery at rest has 9 to 13.8 V, two in series twice that"
        )
    return charge_from_rest(each, battery.kind, meter, inf if rested is None else rested)
