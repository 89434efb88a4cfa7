"""Turns of a wheel a kilometre, from the size that stands on its tyre.

    D = 2 * width * aspect / 100 + 25.4 * rim        [mm], unloaded (tyre code)
    turns a km = 1e6 / circumference                 circumference from 3.05 D, rolling under load
                                                     (ETRTO factor, radial tyres, from memory), to
                                                     pi D, unloaded

Wear takes up to 3 % more off the circumference (common practice, no source: 15 mm of tread on 1 m).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import pi

ROLLING = 3.05
WORN = 0.03
CODE = re.compile(
    r"\s*(\d{3})\s*/\s*(\d{2,3})\s*(?:Z?R|-|D|B)?\s*(\d{2}(?:[.]5)?)\s*[A-Z]?\s*", re.IGNORECASE
)
LEAST_RIM, MOST_RIM = 10.0, 26.0


@dataclass(frozen=True, slots=True)
class Tyre:
    """Nominal section ``width_mm``, ``aspect`` [%], rim [inch]."""

    width_mm: float
    aspect: float
    rim_in: float

    @property
    def diameter_mm(self) -> float:
        """Unloaded."""
        return 2 * self.width_mm * self.aspect / 100 + 25.4 * self.rim_in

    @property
    def unloaded_turns(self) -> float:
        """Turns a kilometre on the unloaded circumference."""
        return 1e6 / (pi * self.diameter_mm)

    @property
    def turns(self) -> tuple[float, float]:
        """Fewest (unloaded) and most (rolling, worn) turns a kilometre."""
        return self.unloaded_turns, 1e6 / (ROLLING * self.diameter_mm * (1 - WORN))

    @property
    def rolling_turns(self) -> float:
        """Turns a kilometre under load, unworn."""
        return 1e6 / (ROLLING * self.diameter_mm)


def parse_tyre(text: str) -> Tyre:
    """A size such as 295/80R22.5. Raises ValueError."""
    found = CODE.fullmatch(text)
    if found is None:
        raise ValueError(f"{text[:30]!r} is no tyre size; write it as on the tyre, 295/80R22.5")
    tyre = Tyre(float(found[1]), float(found[2]), float(found[3]))
    if not (100 <= tyre.width_mm <= 600 and 20 <= tyre.aspect <= 105):
        raise ValueError(f"{text[:30]!r} is no tyre size; write it as on the tyre, 295/80R22.5")
    if not LEAST_RIM <= tyre.rim_in <= MOST_RIM:
        raise ValueError(f"{text[:30]!r}: rims have {LEAST_RIM:g} to {MOST_RIM:g} inch")
    return tyre
