"""The leads that feed a recorder: what is lost in them, and what would be enough."""

from __future__ import annotations

from dataclasses import dataclass

from asfound.calc.supply_leads import (
    AtLoad,
    Lead,
    at_current,
    at_power,
    least_fuse,
    section_for,
)
from asfound.errors import UsageError

CRITICAL, USUAL = 0.03, 0.10
"""Shares of the supply that leads may lose where it matters and elsewhere (ABYC E-11, boats; from
memory)."""


@dataclass(frozen=True, slots=True)
class SizeLeads:
    """A supply [V] and a load: ``watts`` [W] whatever the voltage, or ``amperes`` [A] (one of the
    two). ``least_v``: below this the recorder is not specified [V]."""

    supply_v: float
    lead: Lead
    watts: float | None = None
    amperes: float | None = None
    least_v: float | None = None


@dataclass(frozen=True, slots=True)
class Leads:
    """``load`` None: the leads cannot carry it. Sections [mm2] that lose CRITICAL and USUAL at
    most, the least fuse [A] (None: none of the usual ones is enough, or there is no load), by what
    is drawn at the least voltage where that is known; and what is wrong."""

    load: AtLoad | None
    critical_mm2: float | None
    usual_mm2: float | None
    fuse_a: float | None
    findings: tuple[str, ...]


def size_leads(request: SizeLeads) -> Leads:
    """The sums. Raises UsageError when the load is not one of power and current."""
    supply, lead = request.supply_v, request.lead
    if (request.watts is None) == (request.amperes is None):
        raise UsageError("give the load in watts or in amperes, one of them")
    if request.watts is not None:
        load = at_power(supply, request.watts, lead)
        watts = request.watts
    else:
        load = at_current(supply, request.amperes or 0.0, lead)
        watts = supply * load.amperes
        load = load if load.volts > 0 else None
    # What a converter draws is most at the least voltage that it works from.
    drawn = _most_amperes(request, load)
    return Leads(
        load,
        section_for(supply, watts, lead, CRITICAL),
        section_for(supply, watts, lead, USUAL),
        None if drawn is None else least_fuse(drawn),
        tuple(_findings(request, load)),
    )


def _most_amperes(request: SizeLeads, load: AtLoad | None) -> float | None:
    """The most current that the recorder draws [A]; None: the leads cannot carry the load."""
    if load is None:
        return None
    least = request.least_v
    if request.watts is None or not least or least >= load.volts:
        return load.amperes
    return request.watts / least


def _findings(request: SizeLeads, load: AtLoad | None) -> list[str]:
    if load is None:
        return ["the leads cannot carry this load: the voltage breaks down"]
    found = []
    share = load.drop_v / request.supply_v
    if share > USUAL:
        found.append(f"the leads lose {share:.1%} of the supply, more than {USUAL:.0%}")
    elif share > CRITICAL:
        found.append(f"the leads lose {share:.1%} of the supply, more than {CRITICAL:.0%}")
    if request.least_v is not None and load.volts < request.least_v:
        found.append(f"{load.volts:.2f} V arrive, the recorder needs {request.least_v:g} V")
    return found
