"""What a person typed about volts, amperes and leads. Raises UsageError that names the field.

On a phone a comma is as near as a point, and a unit is often left out where there is but one.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from asfound.calc.crank_dip import CODES, Range
from asfound.calc.supply_leads import Lead
from asfound.errors import UsageError
from asfound.jobs.ask_leads import WARM, section_of
from asfound.jobs.asked import Fields, figure, needed, quantity, text_of

SYSTEMS = (12, 24)
AMOUNT = re.compile(r"([+-]?\d{1,9}(?:[.,]\d{1,9})?)\s*([A-Za-z%°]*)")
VOLTS = {"V": 1.0, "mV": 1e-3}
HOURS = {"h": 1.0, "min": 1 / 60, "d": 24.0}
SECONDS = {"s": 1.0, "ms": 1e-3, "min": 60.0}
CURRENTS = {"A": 1.0, "mA": 1e-3, "W": 1.0}


def amount(text: str, name: str, units: Mapping[str, float], low: float, high: float) -> float:
    """A figure from ``low`` to ``high``, in units of 1; without a unit the first of ``units`` is
    meant."""
    found = AMOUNT.fullmatch(text.strip())
    names = {unit.casefold(): size for unit, size in units.items()}
    first = next(iter(units))
    size = names.get((found[2] or first).casefold()) if found else None
    if found is None or size is None:
        raise UsageError(f"{name}: {text!r} is no figure with one of {', '.join(units)}")
    value = float(found[1].replace(",", ".")) * size
    if not low <= value <= high:
        raise UsageError(f"{name}: {text!r} is outside of {low:g} to {high:g}, in {first}")
    return value


def amount_of(
    fields: Fields, name: str, units: Mapping[str, float], low: float, high: float
) -> float | None:
    """``amount`` of a field; None where it was left out."""
    text = text_of(fields, name)
    return amount(text, name, units, low, high) if text else None


def percent(fields: Fields, name: str, default: str, low: float, high: float) -> float:
    """A share [1] from ``low`` to ``high``: "80%", or "80"."""
    text = text_of(fields, name, default)
    found = AMOUNT.fullmatch(text)
    if found is None or found[2] not in ("", "%"):
        raise UsageError(f"{name}: {text!r} is no share; write {default or '80%'}")
    value = float(found[1].replace(",", ".")) / 100
    if not low <= value <= high:
        raise UsageError(f"{name}: {text!r} is outside of {low:.0%} to {high:.0%}")
    return value


def system_of(fields: Fields) -> int:
    """The vehicle's voltage: 12 or 24."""
    volts = amount(needed(fields, "system", "24V"), "system", {"V": 1.0}, 0, 1000)
    if volts not in SYSTEMS:
        raise UsageError(f"system {volts:g} V: a vehicle has 12 V or 24 V here")
    return int(volts)


def amperes_of(fields: Fields, name: str, volts: float, default: str) -> float:
    """A current [A], of "15mA", "0.8A" or "20W" at ``volts``."""
    text = text_of(fields, name, default)
    found = amount(text, name, CURRENTS, 0, 10_000)
    return found / volts if text.casefold().endswith("w") else found


def lead_of(fields: Fields) -> Lead | None:
    """The recorder's supply leads: length and section go together; None: neither was given."""
    length, section = text_of(fields, "length"), text_of(fields, "section")
    if not length and not section:
        return None
    if not length or not section:
        raise UsageError("length and section of the leads go together: 8m and 1.5mm2")
    warm = figure(text_of(fields, "lead_celsius", WARM), "lead_celsius", -60, 150)
    return Lead(quantity(length, "length", {"m": 1.0}, 1000), section_of(section), warm)


def range_of(fields: Fields) -> tuple[str, Range] | None:
    """What the recorder takes: by ``code`` A to H, or from ``least`` to ``most`` [V]; None: neither
    was given."""
    code = text_of(fields, "code").upper()
    least = amount_of(fields, "least", VOLTS, 0.1, 1000)
    most = amount_of(fields, "most", VOLTS, 0.1, 1000)
    if code and (least is not None or most is not None):
        raise UsageError("say the recorder's code, or the least and the most it takes; not both")
    if code:
        if code not in CODES:
            raise UsageError(
                f"code {code}: there are {', '.join(CODES)}; Z is as agreed: say least"
            )
        return code, CODES[code]
    if least is None and most is None:
        return None
    if least is None or most is None:
        raise UsageError("the least and the most that the recorder takes go together: 9V and 36V")
    if most <= least:
        raise UsageError(f"most {most:g} V: more than the least, {least:g} V, is wanted")
    return "", Range(least, most)
