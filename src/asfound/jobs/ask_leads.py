"""What was typed about a recorder's supply leads, as a request for the sums."""

from __future__ import annotations

import re

from asfound.calc.supply_leads import Lead, awg_mm2
from asfound.errors import UsageError
from asfound.jobs.asked import Fields, figure, needed, quantity, text_of
from asfound.jobs.size_leads import SizeLeads

LOADS = {"W": 1.0, "A": 1.0, "mA": 1e-3}
GAUGE = re.compile(r"\s*AWG\s*(\d{1,2}|[1-4]/0)\s*", re.IGNORECASE)
WARM = "60"
"""Degrees Celsius that leads are taken to have (own choice)."""
MOST = 1e5


def ask_leads(fields: Fields) -> SizeLeads:
    """Fields: supply 24V · load 60W or 2.5A · length 8m · section 1.5mm2 or AWG16 · celsius · least
    9V. Raises UsageError."""
    celsius = figure(text_of(fields, "celsius", WARM), "celsius", -60, 150)
    length = quantity(needed(fields, "length", "8m"), "length", {"m": 1.0}, MOST)
    lead = Lead(length, section_of(needed(fields, "section", "1.5mm2")), celsius)
    load = needed(fields, "load", "60W")
    drawn = quantity(load, "load", LOADS, MOST)
    power = load.casefold().endswith("w")
    least = text_of(fields, "least")
    return SizeLeads(
        quantity(needed(fields, "supply", "24V"), "supply", {"V": 1.0}, MOST),
        lead,
        watts=drawn if power else None,
        amperes=None if power else drawn,
        least_v=quantity(least, "least", {"V": 1.0}, MOST) if least else None,
    )


def section_of(text: str) -> float:
    """Section [mm2] of "1.5mm2" or "AWG16". Raises UsageError."""
    gauge = GAUGE.fullmatch(text)
    if gauge is None:
        return quantity(text, "section", {"mm2": 1.0, "mm²": 1.0}, MOST)
    name = gauge[1]
    number = 1 - int(name[0]) if "/" in name else int(name)
    if number > 40:
        raise UsageError(f"section {text}: gauges go to 40")
    return awg_mm2(number)
