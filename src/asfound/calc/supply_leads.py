"""Voltage lost in a recorder's supply leads, and the section that loses little enough.

    R = 2 * l * rho * (1 + alpha * (T - 20)) / A * STRANDED    [ohm], both leads of length l [m]
    constant current:  U_load = U - R * I
    constant power:    U_load = (U + sqrt(U^2 - 4 * R * P)) / 2, none when U^2 < 4 * R * P

A recorder's own converter takes constant power: the lower the voltage, the more current it draws.
rho = 0.017241 ohm mm2/m and alpha = 0.00393 1/K at 20 degrees Celsius are those of annealed copper
(100 % IACS; NBS Circular 31, 1914, Handbook 100, 1966).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt

RHO_20 = 0.017241
"""Resistivity of annealed copper at 20 degrees Celsius [ohm mm2/m]."""
ALPHA_20 = 0.00393
"""Its temperature coefficient at 20 degrees Celsius [1/K]."""
STRANDED = 1.16
"""Flexible conductors resist so many times what solid copper of their nominal section would: IEC
60228 allows class 5 at most 13.3 ohm/km for 1.5 mm2, and 1.13 to 1.16 times for 0.5 to 6 mm2."""
SECTIONS_MM2 = (0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0)
"""Nominal sections [mm2] (IEC 60228)."""
FUSES_A = (2.0, 3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0)
"""Ratings of blade fuses [A] (ISO 8820-3, from memory)."""
FUSE_LEAST = 1.25
"""A fuse's rating, at least so many times the steady current (ABYC and NEC practice, read)."""


@dataclass(frozen=True, slots=True)
class Lead:
    """``length_m`` one way [m], ``section_mm2`` [mm2], at ``celsius`` [degrees Celsius]."""

    length_m: float
    section_mm2: float
    celsius: float = 20.0

    @property
    def ohms(self) -> float:
        """Resistance there and back [ohm]."""
        warm = 1 + ALPHA_20 * (self.celsius - 20)
        return 2 * self.length_m * RHO_20 * warm / self.section_mm2 * STRANDED


@dataclass(frozen=True, slots=True)
class AtLoad:
    """Voltage at the recorder [V], current [A], and what the leads lose [V]."""

    volts: float
    amperes: float
    drop_v: float


def awg_mm2(gauge: int) -> float:
    """Section of an American wire gauge [mm2]; 4/0 is -3.

    Diameter 0.127 mm * 92^((36 - n) / 39) (ASTM B258).
    """
    diameter: float = 0.127 * 92 ** ((36 - gauge) / 39)
    return pi / 4 * diameter**2


def at_current(supply_v: float, amperes: float, lead: Lead) -> AtLoad:
    """With a load that draws ``amperes`` whatever the voltage."""
    drop = lead.ohms * amperes
    return AtLoad(supply_v - drop, amperes, drop)


def at_power(supply_v: float, watts: float, lead: Lead) -> AtLoad | None:
    """With a load that draws ``watts`` whatever the voltage; None: more than the leads carry."""
    root = supply_v**2 - 4 * lead.ohms * watts
    if root < 0:
        return None
    volts = (supply_v + sqrt(root)) / 2
    amperes = watts / volts
    return AtLoad(volts, amperes, supply_v - volts)


def section_for(supply_v: float, watts: float, lead: Lead, share: float) -> float | None:
    """The least of SECTIONS_MM2 that loses at most ``share`` [1] of the supply; None: none does."""
    for section in SECTIONS_MM2:
        seen = at_power(supply_v, watts, Lead(lead.length_m, section, lead.celsius))
        if seen is not None and seen.drop_v <= share * supply_v + 1e-12:
            return section
    return None


def least_fuse(amperes: float) -> float | None:
    """The least blade fuse that carries a steady current [A]; None: none does."""
    return next((rating for rating in FUSES_A if rating >= FUSE_LEAST * amperes), None)
