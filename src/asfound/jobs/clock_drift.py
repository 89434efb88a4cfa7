"""How a recorder's clock drifts, and when it will be off by more than is allowed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum

from asfound.calc.clock_drift import (
    DAY_S,
    Drift,
    OffsetRead,
    Passing,
    crystal_ppm,
    drift_of,
    passing,
)
from asfound.errors import UsageError

CRYSTAL_PPM = 100.0
"""A crystal clock at everyday temperatures drifts less (data sheets: 20 ppm, 35 ppm for the curve,
ageing some ppm a year; from memory, generous)."""
CELSIUS = (-10.0, 45.0)
"""A parked vehicle over a year in a temperate climate (common practice)."""


class DriftFault(StrEnum):
    """What is found about a clock."""

    PASSED = "beyond-what-is-allowed"
    SOON = "will-pass-what-is-allowed"
    MAY = "may-pass-what-is-allowed"
    FAST = "more-than-a-crystal-drifts"
    SET = "clock-was-set"
    STRAY = "reading-out-of-line"
    UNKNOWN = "could-not-tell"


@dataclass(frozen=True, slots=True)
class DriftFinding:
    """``measured`` against ``limit``, and what a person would say."""

    kind: DriftFault
    measured: float
    limit: float
    note: str


@dataclass(frozen=True, slots=True)
class FindDrift:
    """``readings`` of one clock; off by ``allowed_s`` is too much; ``until_s``: it has to hold
    until then (s since 1970; None: not said); ``celsius``: what the recorder goes through."""

    readings: tuple[OffsetRead, ...]
    allowed_s: float = 60.0
    until_s: float | None = None
    celsius: tuple[float, float] = CELSIUS


@dataclass(frozen=True, slots=True)
class DriftFound:
    """``drift`` None: nothing to be said. ``cold_ppm``, ``warm_ppm``: how much slower a tuning-fork
    crystal runs at the ends of ``celsius``; ``notes``: lines for the person."""

    drift: Drift | None
    passing: Passing | None
    cold_ppm: float
    warm_ppm: float
    notes: tuple[str, ...]
    findings: tuple[DriftFinding, ...]


def find_drift(request: FindDrift) -> DriftFound:
    """The drift. Raises UsageError for fewer than two readings."""
    try:
        drift = drift_of(request.readings)
    except ValueError as error:
        raise UsageError(f"{error}; there are {len(request.readings)}") from None
    cold, warm = (crystal_ppm(each) for each in request.celsius)
    low, high = request.celsius
    note = (
        f"a crystal that is right at 25 degrees loses {-cold * 0.0864:.1f} s a day at {low:g} "
        f"degrees and {-warm * 0.0864:.1f} s at {high:g}: one season does not drift like another"
    )
    if drift is None:
        unknown = DriftFinding(
            DriftFault.UNKNOWN, len(request.readings), 3,
            "the clock was set between all readings: two without a setting in between are needed",
        )  # fmt: skip
        return DriftFound(None, None, cold, warm, (note,), (unknown,))
    notes = [note]
    if drift.high_ppm is None:
        notes.insert(0, "too few readings for a band: take another after some weeks")
    soon = passing(drift, request.allowed_s, drift.read[-1].at_s)
    found = [*_setting(drift), *_rate(drift), *_limit(request, drift, soon)]
    return DriftFound(drift, soon, cold, warm, tuple(notes), tuple(found))


def moment(at_s: float) -> datetime:
    """Seconds since 1970 as a time, UTC."""
    return datetime.fromtimestamp(at_s, UTC)


def day_text(at_s: float) -> str:
    """A date for people."""
    return f"{moment(at_s):%Y-%m-%d}"


def _setting(drift: Drift) -> list[DriftFinding]:
    found = []
    for jump in drift.jumps:
        way = "forward" if jump.seconds > 0 else "back"
        note = (
            f"between {day_text(jump.after_s)} and {day_text(jump.before_s)} the clock was put "
            f"{way} by {abs(jump.seconds):.1f} s"
        )
        found.append(DriftFinding(DriftFault.SET, jump.seconds, 0.0, note))
    for stray in drift.off:
        note = f"the reading of {day_text(stray.at_s)} does not fit the others and is left out"
        found.append(DriftFinding(DriftFault.STRAY, stray.offset_s, 0.0, note))
    return found


def _rate(drift: Drift) -> list[DriftFinding]:
    if abs(drift.ppm) <= CRYSTAL_PPM:
        return []
    note = (
        f"{abs(drift.ppm):.0f} ppm are more than a crystal drifts: an empty buffer battery, a "
        "clock that stands while the power is off, or a wrong time source?"
    )
    return [DriftFinding(DriftFault.FAST, drift.ppm, CRYSTAL_PPM, note)]


def _limit(request: FindDrift, drift: Drift, soon: Passing) -> list[DriftFinding]:
    last = drift.read[-1]
    allowed, until = request.allowed_s, request.until_s
    if abs(last.offset_s) > allowed:
        way = "ahead" if last.offset_s > 0 else "behind"
        note = (
            f"on {day_text(last.at_s)} it was {abs(last.offset_s):.1f} s {way}, {allowed:g} s are "
            "allowed"
        )
        return [DriftFinding(DriftFault.PASSED, last.offset_s, allowed, note)]
    if until is None or until <= last.at_s:
        return []
    if soon.likely_s is not None and soon.likely_s <= until:
        note = f"it will be {allowed:g} s off on about {day_text(soon.likely_s)}: set it before"
        days = (soon.likely_s - last.at_s) / DAY_S
        return [DriftFinding(DriftFault.SOON, days, (until - last.at_s) / DAY_S, note)]
    if soon.earliest_s is not None and soon.earliest_s <= until:
        note = f"it may be {allowed:g} s off from {day_text(soon.earliest_s)} on"
        days = (soon.earliest_s - last.at_s) / DAY_S
        return [DriftFinding(DriftFault.MAY, days, (until - last.at_s) / DAY_S, note)]
    return []
