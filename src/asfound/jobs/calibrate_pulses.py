"""What a wheel-pulse constant should be, from a pulse log and a track, against what is set."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from asfound.calc.clock_match import Match, match_clocks
from asfound.calc.speed_tolerances import LEAST_PULSES, MOST_PULSES, TACHOGRAPH_WAY
from asfound.calc.tyre import Tyre
from asfound.calc.wheel_pulses import (
    LEAST_WINDOWS,
    PulseRate,
    Windows,
    pulse_rate,
    pulse_speeds,
    way_of,
    way_speeds,
    windows_of,
)
from asfound.errors import UsageError
from asfound.jobs.read_pulses import PulseLog
from asfound.model.track_log import TrackLog

MOST_APART_S = 600.0
"""Clocks of the two logs are looked for within this."""
MUCH_OFF = 0.2
"""Share of windows out of line that is a finding (own choice)."""


class PulseFault(StrEnum):
    """What is found about pulses."""

    SETTING = "setting-off"
    RANGE = "out-of-range"
    TYRE = "does-not-fit-the-tyre"
    CLOCKS = "clocks-not-matched"
    SCATTER = "many-windows-off"
    FEW = "too-little-driving"


@dataclass(frozen=True, slots=True)
class PulseFinding:
    """``measured`` against ``limit`` (from, to where it is a span), and what a person would say."""

    kind: PulseFault
    measured: float
    limit: tuple[float, float]
    note: str


@dataclass(frozen=True, slots=True)
class CalibratePulses:
    """``setting``: the recorder's constant [imp/km]; ``tyre`` and ``per_turn`` [imp a turn of the
    wheel] for plausibility; None: not known. ``align``: the logs' clocks are matched first."""

    pulses: PulseLog
    track: TrackLog
    setting: float | None = None
    tyre: Tyre | None = None
    per_turn: float | None = None
    align: bool = True


@dataclass(frozen=True, slots=True, eq=False)
class Calibrated:
    """``rate`` None: too little driving. ``match``: between the clocks (pulses - track), None when
    not looked for or nothing to compare. ``shown_share``: by which share [1] too high speeds are
    shown with the constant that is set."""

    rate: PulseRate | None
    windows: Windows
    match: Match | None
    by_speeds: bool
    shown_share: float | None
    per_turn: tuple[float, float] | None
    findings: tuple[PulseFinding, ...]


def calibrate_pulses(request: CalibratePulses) -> Calibrated:
    """The constant. Raises UsageError when the track has no way, or logs are too long."""
    pulses, track = request.pulses, request.track.track
    try:
        way = way_of(track)
    except ValueError as error:
        raise UsageError(f"{request.track.name}: {error}; give a log of driving") from None
    match, times = None, pulses.times_s
    try:
        if request.align:
            shown = pulse_speeds(times, pulses.counts)
            match = match_clocks(shown, way_speeds(way), MOST_APART_S)
            if match is not None and match.sure:
                times = times - match.offset_s
        windows = windows_of(times, pulses.counts, way)
    except ValueError as error:
        raise UsageError(f"{pulses.name}: {error}") from None
    rate = pulse_rate(windows)
    found = _checks(request, rate, windows, match)
    share = rate.per_km / request.setting - 1 if rate and request.setting else None
    turns = None
    if rate and request.tyre:
        fewest, most = request.tyre.turns
        turns = (rate.per_km / most, rate.per_km / fewest)
    return Calibrated(rate, windows, match, way.from_speeds, share, turns, tuple(found))


def _checks(
    request: CalibratePulses, rate: PulseRate | None, windows: Windows, match: Match | None
) -> list[PulseFinding]:
    found = []
    if request.align and not (match and match.sure):
        note = "the clocks of the two logs could not be matched: taken as if they showed the same"
        found.append(PulseFinding(PulseFault.CLOCKS, match.r if match else 0.0, (0.5, 1.0), note))
    if rate is None:
        note = (
            f"only {len(windows.pulses)} whole minutes of driving with pulses and satellites: at "
            f"least {LEAST_WINDOWS} are needed, 20 are better"
        )
        count = float(len(windows.pulses))
        return [*found, PulseFinding(PulseFault.FEW, count, (LEAST_WINDOWS, 1e9), note)]
    if request.setting is not None and not rate.low <= request.setting <= rate.high:
        share = rate.per_km / request.setting - 1
        way = "high" if share > 0 else "low"
        within = rate.high - rate.per_km
        note = (
            f"set are {request.setting:g}, measured {rate.per_km:.0f} ± {within:.0f}: speed and "
            f"distance are shown {abs(share):.1%} too {way}"
        )
        if abs(share) * 100 > TACHOGRAPH_WAY.value:
            note += f", more than the {TACHOGRAPH_WAY.value:g} % of a tachograph in use"
        span = (rate.low, rate.high)
        found.append(PulseFinding(PulseFault.SETTING, request.setting, span, note))
    low, high = LEAST_PULSES.value, MOST_PULSES.value
    if not low <= rate.per_km <= high:
        note = f"{rate.per_km:.0f} pulses a km lie outside {low:g} to {high:g}, the usual range"
        found.append(PulseFinding(PulseFault.RANGE, rate.per_km, (low, high), note))
    if rate.off > MUCH_OFF * rate.windows:
        note = (
            f"{rate.off} of {rate.windows} minutes do not fit: a loose connection, slip, or poor "
            "reception?"
        )
        found.append(PulseFinding(PulseFault.SCATTER, rate.off / rate.windows, (0, MUCH_OFF), note))
    return [*found, *_tyre(request, rate)]


def _tyre(request: CalibratePulses, rate: PulseRate) -> list[PulseFinding]:
    if request.tyre is None or request.per_turn is None:
        return []
    low, high = (request.per_turn * turns for turns in request.tyre.turns)
    if rate.low <= high and rate.high >= low:
        return []
    note = (
        f"the tyre and {request.per_turn:g} pulses a turn would give {low:.0f} to {high:.0f}, "
        f"measured are {rate.per_km:.0f}: another tyre, or another count a turn?"
    )
    return [PulseFinding(PulseFault.TYRE, rate.per_km, (low, high), note)]
