"""Write endurance: how long a drive's rated writes last at what a recorder writes.

    TBW [bytes]     = DWPD [1/day] * capacity [bytes] * 365 [days/year] * warranty [years]
    worn a year     = bytes a day [bytes] * days a year * write amplification [1]
    years left      = (TBW - written so far * write amplification) / worn a year
    workload a year = bytes a day * days a year          (written and read out, hard disks)

Prefixes are decimal (IEC 80000-13). TBW and DWPD are two ways to say the same rating: an identity.
A rating counts host writes of the maker's reference workload (JEDEC JESD218 and JESD219, from
memory); ``amplification`` says how many times as hard as that the recorder's writes are: 1 for long
even streams, more for many small files on a full drive. Valid for wear alone: a drive that is not
worn fails all the same.
"""

from __future__ import annotations

from dataclasses import dataclass

from asfound.calc.days_kept import Band
from asfound.units import TB

DAYS_A_YEAR = 365.0
"""As data sheets count (identity of TBW and DWPD)."""
WORKLOADS = (55 * TB, 180 * TB, 550 * TB)
"""Classes of hard disks by bytes a year, written and read: desk, storage and recording, data centre
(data sheets, from memory)."""
FOREVER_YEARS = 1000.0
"""Longer than this is "never": no drive is kept that long (own choice)."""


@dataclass(frozen=True, slots=True)
class Wear:
    """``bytes_a_day`` written by the recorder on each of ``days_a_year``; ``amplification``: how
    many times as hard as the rating's own workload [1]."""

    bytes_a_day: Band
    days_a_year: float = DAYS_A_YEAR
    amplification: float = 1.0

    @property
    def written_a_year(self) -> Band:
        """What the recorder writes [bytes a year]."""
        return self.bytes_a_day.times(self.days_a_year)

    @property
    def worn_a_year(self) -> Band:
        """What counts against the rating [bytes a year]."""
        return self.written_a_year.times(self.amplification)


def tbw_of(dwpd: float, capacity: float, years: float) -> float:
    """Rated writes [bytes] of ``dwpd`` drive writes a day over ``years`` of warranty."""
    return dwpd * capacity * DAYS_A_YEAR * years


def dwpd_of(tbw: float, capacity: float, years: float) -> float:
    """Drive writes a day that ``tbw`` [bytes] over ``years`` of warranty come to."""
    return tbw / (capacity * DAYS_A_YEAR * years)


def years_left(tbw: float, used: float, wear: Wear) -> Band:
    """Years until ``tbw`` is used up, ``used`` [bytes of the rating] being used so far; 0 when it
    is already, at most FOREVER_YEARS."""
    left = max(0.0, tbw - used)
    a_year = wear.worn_a_year
    return Band(*(_years(left, figure) for figure in (a_year.high, a_year.likely, a_year.low)))


def _years(left: float, a_year: float) -> float:
    return left / a_year if left < a_year * FOREVER_YEARS else FOREVER_YEARS


def amplification_seen(used_share: float, tbw: float, written: float) -> float:
    """How hard the writes really were: a drive that says that ``used_share`` [1] of its endurance
    is gone after ``written`` bytes by the host (the same sum, solved for it)."""
    return used_share * tbw / written


def workload_for(bytes_a_year: float) -> float | None:
    """The least of WORKLOADS [bytes a year] that allows so much; None: none does."""
    return next((limit for limit in WORKLOADS if limit >= bytes_a_year), None)
