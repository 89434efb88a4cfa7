"""What arrives at the recorder over the length of its leads, for each usual section, as a plot."""

from __future__ import annotations

from dataclasses import replace

from asfound.calc.supply_leads import SECTIONS_MM2, Lead, at_current, at_power
from asfound.jobs.size_leads import CRITICAL, SizeLeads
from asfound.model.plot import Axis, Layer, Line, Plot, Points, Rule

STEPS = 30
AROUND = 2
"""So many usual sections either side of the one that is there."""


def plot_leads(request: SizeLeads) -> Plot:
    """Lines end where the leads cannot carry the load any more."""
    lead = request.lead
    nearest = min(
        range(len(SECTIONS_MM2)), key=lambda n: abs(SECTIONS_MM2[n] / lead.section_mm2 - 1)
    )
    usual = SECTIONS_MM2[max(0, nearest - AROUND) : nearest + AROUND + 1]
    layers: list[Layer] = []
    for section in sorted({*usual, lead.section_mm2}):
        seen = [
            (length, volts)
            for step in range(STEPS + 1)
            if (length := 2 * lead.length_m * step / STEPS) >= 0
            and (volts := _arrives(request, replace(lead, length_m=length, section_mm2=section)))
        ]
        across, up = tuple(length for length, _ in seen), tuple(volts for _, volts in seen)
        layers.append(Line(f"{section:.4g} mm²", across, up))
    here = _arrives(request, lead)
    if here:
        layers.append(Points("these leads", (lead.length_m,), (here,)))
    layers.append(Rule(f"{CRITICAL:.0%} lost", request.supply_v * (1 - CRITICAL)))
    if request.least_v is not None:
        layers.append(Rule("least that the recorder takes", request.least_v))
    return Plot(
        "Voltage that arrives over the length of the leads",
        Axis("length one way", "m", low=0.0),
        Axis("voltage at the recorder", "V"),
        tuple(layers),
    )


def _arrives(request: SizeLeads, lead: Lead) -> float | None:
    if request.watts is not None:
        load = at_power(request.supply_v, request.watts, lead)
        return None if load is None else load.volts
    volts = at_current(request.supply_v, request.amperes or 0.0, lead).volts
    return volts if volts > 0 else None
