"""A lead-acid starter battery: charge from rest voltage, what the cold leaves of it, freezing.

    charge from rest voltage: straight lines between the marks of each table, the least and the most
    of all tables, the reading low and high by the meter's error
    cold_share(T) = clamp(1 + 0.01 * (T - 25), 0.1, 1)      [1], T [degrees Celsius]
    density       = straight lines between marks; freezing point = straight lines between marks

Published tables differ by up to 0.3 V at the empty end, and a meter that is 1 % off is 0.12 V off
at 12 V, 15 % of the charge: so charge is a band. Tables hold for batteries that rested for hours at
about 25 degrees Celsius; sooner, the voltage reads high after a charge and low after a load.
Voltages are those of one battery of 12 V; a bank of 24 V has twice as much.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import inf

import numpy as np

from asfound.calc.days_kept import Band

Marks = tuple[float, float, float, float, float]
"""A figure at each of CHARGES."""

CHARGES = (0.0, 0.25, 0.5, 0.75, 1.0)
"""States of charge [1] for which tables give figures."""


class Kind(StrEnum):
    """How a battery is built."""

    FLOODED = "flooded"
    AGM = "agm"
    GEL = "gel"


_FLOODED: tuple[Marks, ...] = (
    (11.89, 12.06, 12.24, 12.45, 12.65),  # Battery trade's table at 25 degrees C, from memory.
    (11.6, 12.0, 12.2, 12.4, 12.6),  # Its rounded form, read in a public list.
    # 6 * (density + 0.84), a textbook rule (read), over _DENSITY.
    (11.76, 12.0, 12.18, 12.39, 12.63),
)
_AGM: tuple[Marks, ...] = (
    (11.8, 12.0, 12.3, 12.6, 12.8),  # A vehicle maker's charging table (read); 0 % from memory.
    (11.6, 11.75, 12.1, 12.4, 12.7),  # A traveller's chart (read).
    (11.9, 12.1, 12.35, 12.6, 13.2),  # A list post (read); 0 % from memory.
)
TABLES: dict[Kind, tuple[Marks, ...]] = {
    Kind.FLOODED: _FLOODED,
    Kind.AGM: _AGM,
    Kind.GEL: _AGM,  # Gel lies close to AGM (from memory).
}
"""Rest voltages [V] of 12 V batteries at CHARGES; the first of each is the likely one."""

METER = 0.01
"""Error of a multimeter, as a share of its reading [1] (a public list, read)."""
REST_HOURS = 4.0
"""Hours of rest that a rest voltage needs at least; more is better (common practice, no source)."""
UNRESTED_V = 0.3
"""What a 12 V battery may read off right after a charge or a load [V] (own choice; 0.2 to 0.5 V are
named in the trade)."""

COLD_PER_K = 0.01
"""Share of the capacity that each kelvin below 25 degrees Celsius takes (common practice, from
memory: 80 % at 0, 60 % at -18 degrees Celsius; IEC 60896 reckons 0.006 for slow discharge, so this
is on the safe side)."""
COLD_LEAST = 0.1
"""What is left at least [1]; the line is not meant for such cold (own choice)."""

_DENSITY: Marks = (1.110, 1.155, 1.180, 1.215, 1.255)
"""Density of the acid [kg/l] at CHARGES, lower ends of a battery maker's ranges (read): the thinner
the acid, the sooner it freezes."""
_FREEZING = (
    (1.000, 1.050, 1.100, 1.150, 1.200, 1.225, 1.265),
    (0.0, -2.8, -7.8, -15.0, -27.2, -37.2, -59.4),
)
"""Density [kg/l] and freezing point of the acid [degrees Celsius] (a vehicle maker's manual, read;
water at 1)."""


def charge_at(volts: float, table: Marks) -> float:
    """State of charge [1] at a rest voltage [V] of a 12 V battery, by one table."""
    return float(np.interp(volts, table, CHARGES))


def rest_volts(kind: Kind, charge: float) -> Band:
    """Rest voltage [V] of a 12 V battery at a ``charge`` [1]: least, likely, most of the tables."""
    each = [float(np.interp(charge, CHARGES, table)) for table in TABLES[kind]]
    return Band(min(each), each[0], max(each))


def charge_from_rest(volts: float, kind: Kind, meter: float = METER, rested_h: float = inf) -> Band:
    """Charge [1] of a 12 V battery that read ``volts`` [V], ``rested_h`` [h] after its last charge
    or load, with a meter whose error is the share ``meter`` [1].

    Rest shorter than REST_HOURS widens the band by up to UNRESTED_V.
    """
    unrested = UNRESTED_V * max(0.0, 1 - rested_h / REST_HOURS)
    off = volts * meter + unrested
    tables = TABLES[kind]
    low = min(charge_at(volts - off, table) for table in tables)
    high = max(charge_at(volts + off, table) for table in tables)
    return Band(low, charge_at(volts, tables[0]), high)


def cold_share(celsius: float) -> float:
    """Share of the capacity [1] that a battery gives at ``celsius``; warmth above 25 adds none."""
    return min(1.0, max(COLD_LEAST, 1 + COLD_PER_K * (celsius - 25)))


def freezing_c(charge: float) -> float:
    """Where the acid of a battery of this ``charge`` [1] begins to freeze [degrees Celsius], on the
    safe side. The emptier, the sooner."""
    density = float(np.interp(charge, CHARGES, _DENSITY))
    return float(np.interp(density, _FREEZING[0], _FREEZING[1]))


@dataclass(frozen=True, slots=True)
class Battery:
    """``amp_hours`` [Ah] on its label (20 h rate, of the whole bank); ``volts``: 12 or 24;
    ``health`` [1]: what age has left of the capacity; ``celsius`` while parked."""

    amp_hours: float
    volts: float
    kind: Kind = Kind.FLOODED
    health: float = 1.0
    celsius: float = 25.0

    @property
    def capacity_ah(self) -> float:
        """What it holds when full and warm [Ah]."""
        return self.amp_hours * self.health

    @property
    def in_series(self) -> float:
        """Batteries of 12 V in series."""
        return self.volts / 12

    def least_charge(self, keep: float) -> float:
        """Charge [1] that has to be left at this temperature, when it is ``keep`` [1] in the warm.

        Of what may be taken in the warm, the cold leaves its share: 1 - (1 - keep) * cold_share.
        """
        return 1 - (1 - keep) * cold_share(self.celsius)
