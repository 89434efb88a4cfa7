"""How long a drive's rated writes last at what a recorder writes, and which class it belongs in."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from asfound.calc import drive_limits as limits
from asfound.calc.days_kept import Band
from asfound.calc.drive_life import (
    Wear,
    amplification_seen,
    dwpd_of,
    tbw_of,
    workload_for,
    years_left,
)
from asfound.errors import UsageError
from asfound.model.drive_check import DriveFinding, Weight
from asfound.sources import Source
from asfound.units import TB

NEARLY = 0.8
"""Share of the rated writes from which a new drive is worth planning (own choice)."""


TELLING = 0.05
"""Share used, by the drive's own word, from which on it tells something (own choice)."""
FASTER = 1.5
"""So many times what was reckoned with is worth a word (own choice)."""


class LifeFault(StrEnum):
    """What is wrong with a drive's life."""

    USED_UP = "rated-writes-used-up"
    NEARLY_USED_UP = "rated-writes-nearly-used-up"
    TOO_SHORT = "wears-out-too-soon"
    MAY_BE_TOO_SHORT = "may-wear-out-too-soon"
    BEFORE_WARRANTY = "rated-writes-end-before-warranty"
    FASTER = "wears-faster-than-reckoned"
    WORKLOAD = "more-than-workload-rating"
    MAY_BE_WORKLOAD = "may-be-more-than-workload-rating"


@dataclass(frozen=True, slots=True)
class DriveLife:
    """A drive as its data sheet says, and what it is to bear.

    ``tbw`` [bytes], or ``dwpd`` [1/day] with ``capacity`` [bytes] and ``warranty_years``: rated
    writes. ``workload`` [bytes a year, written and read]: of a hard disk. One of the ratings at
    least. ``written`` [bytes]: by the host so far, after which the drive says that ``used`` [1] of
    its endurance is gone. ``wanted_years``: how long it is to last. None:
    nothing was said.
    """

    wear: Wear
    capacity: float | None = None
    tbw: float | None = None
    dwpd: float | None = None
    warranty_years: float | None = None
    workload: float | None = None
    written: float = 0.0
    wanted_years: float | None = None
    used: float | None = None

    @property
    def rated(self) -> float | None:
        """Rated writes [bytes] by either way to say them."""
        if self.tbw is not None:
            return self.tbw
        if self.dwpd is None or self.capacity is None or self.warranty_years is None:
            return None
        return tbw_of(self.dwpd, self.capacity, self.warranty_years)


@dataclass(frozen=True, slots=True)
class Life:
    """``written_a_year`` [bytes]; ``writes_a_day`` and ``rated_writes_a_day`` [drive's capacities];
    ``rated`` and ``used`` [bytes of the rating], ``years`` until it is used up from now on;
    ``workload_class``: the least usual one that is enough [bytes a year]. None: not known, or for
    the last: none is. ``amplification_seen``: what the drive's own word comes to [1]."""

    written_a_year: Band
    writes_a_day: float | None
    rated: float | None
    rated_writes_a_day: float | None
    used: float
    years: Band | None
    workload_class: float | None
    amplification_seen: float | None
    findings: tuple[DriveFinding, ...]

    @property
    def used_share(self) -> float | None:
        """Share of the rating that is used [1]; may be more than 1."""
        return None if self.rated is None else self.used / self.rated


def drive_life(request: DriveLife) -> Life:
    """The sums. Raises UsageError when next to nothing is written, or no rating is known."""
    wear, rated, capacity = request.wear, request.rated, request.capacity
    if wear.bytes_a_day.low <= 0:
        raise UsageError("nothing is written: give channels, hours a day and rates above 0")
    if rated is None and request.workload is None:
        raise UsageError(
            "no rating: give TBW, or drive writes a day with capacity and warranty years, or the "
            "workload a year of a hard disk"
        )
    used = request.written * wear.amplification
    years = None if rated is None else years_left(rated, used, wear)
    warranty = request.warranty_years
    return Life(
        wear.written_a_year,
        None if capacity is None else wear.bytes_a_day.likely / capacity,
        rated,
        None if None in (rated, capacity, warranty) else _dwpd(request),
        used,
        years,
        workload_for(wear.written_a_year.high),
        _seen(request),
        (*_writes(request, rated, used, years), *_faster(request), *_workload(request)),
    )


def _dwpd(request: DriveLife) -> float:
    return dwpd_of(request.rated or 0.0, request.capacity or 1.0, request.warranty_years or 1.0)


def _writes(
    request: DriveLife, rated: float | None, used: float, years: Band | None
) -> Iterator[DriveFinding]:
    if rated is None or years is None:
        return
    share = used / rated
    if share >= 1:
        note = f"{share:.0%} of the rated writes are used: its warranty is over, replace the drive"
        yield _found(LifeFault.USED_UP, share * 100, 100, "%", limits.RATING, note)
        return
    if share >= NEARLY:
        note = f"{share:.0%} of the rated writes are used: plan a new drive"
        limit = NEARLY * 100
        yield _found(LifeFault.NEARLY_USED_UP, share * 100, limit, "%", limits.OWN, note)
    wanted, warranty = request.wanted_years, request.warranty_years
    if wanted is not None and years.high < wanted:
        note = (
            f"the rated writes last {years.low:.1f} to {years.high:.1f} years, {wanted:g} were "
            "asked for"
        )
        yield _found(LifeFault.TOO_SHORT, years.high, wanted, "years", limits.ASKED, note)
    elif wanted is not None and years.low < wanted:
        note = f"with much to record {years.low:.1f} years, {wanted:g} were asked for"
        yield _found(LifeFault.MAY_BE_TOO_SHORT, years.low, wanted, "years", limits.ASKED, note)
    whole = years_left(rated, 0.0, request.wear).likely
    if warranty is not None and whole < warranty:
        note = f"the rated writes last {whole:.1f} of the {warranty:g} years of warranty"
        yield _found(LifeFault.BEFORE_WARRANTY, whole, warranty, "years", limits.RATING, note)


def _seen(request: DriveLife) -> float | None:
    """None while the drive's figure, in whole per cent, is too small to tell."""
    rated, used = request.rated, request.used
    if rated is None or used is None or used < TELLING or not request.written:
        return None
    return amplification_seen(used, rated, request.written)


def _faster(request: DriveLife) -> Iterator[DriveFinding]:
    seen, reckoned = _seen(request), request.wear.amplification
    if seen is not None and request.used is not None and seen > FASTER * reckoned:
        note = (
            f"by the drive's own word {request.used:.0%} of its endurance is gone: reckon with a "
            f"write amplification of {seen:.1f}"
        )
        yield _found(LifeFault.FASTER, seen, reckoned, "1", limits.ITSELF, note)


def _workload(request: DriveLife) -> Iterator[DriveFinding]:
    limit = request.workload
    if limit is None:
        return
    a_year = request.wear.written_a_year
    kind, figure = LifeFault.WORKLOAD, a_year.likely
    if a_year.likely <= limit:
        kind, figure = LifeFault.MAY_BE_WORKLOAD, a_year.high
    if figure > limit:
        fits = workload_for(a_year.high)
        much, meant = f"{figure / TB:.0f}", f"{limit / TB:g}"
        note = f"{much} TB a year, the drive is meant for {meant}: no usual class is enough"
        if fits:
            note = f"{much} TB a year, the drive is meant for {meant}: take one for {fits / TB:g}"
        yield _found(kind, figure / TB, limit / TB, "TB/year", limits.WORKLOAD, note)


def _found(
    kind: LifeFault, measured: float, limit: float, unit: str, source: Source, note: str
) -> DriveFinding:
    cited = limits.cited(source)
    return DriveFinding(kind, Weight.NOTE, measured, limit, unit, cited, note)
