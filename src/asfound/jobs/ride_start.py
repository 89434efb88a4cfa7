"""Whether a recorder gets over the start of the engine, and what else its supply may see."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from asfound.calc.crank_dip import (
    EVENTS,
    PROFILES,
    Below,
    Event,
    Profile,
    Range,
    limit_before_leads,
    time_below,
)
from asfound.calc.supply_leads import Lead
from asfound.errors import UsageError


class Ride(StrEnum):
    """How a recorder gets over a start."""

    THROUGH = "rides-through"
    HELD = "held-up"
    OUT = "drops-out"
    UNKNOWN = "could-not-tell"


class StartFault(StrEnum):
    """What is wrong."""

    DROPS_OUT = "drops-out"
    COULD_NOT_TELL = "could-not-tell"
    TOO_MUCH = "too-much-voltage"
    TOO_LITTLE = "too-little-voltage"


@dataclass(frozen=True, slots=True)
class StartFinding:
    """``measured`` against ``limit`` in ``unit``, and what a person would say."""

    kind: StartFault
    measured: float
    limit: float
    unit: str
    note: str


@dataclass(frozen=True, slots=True)
class Measured:
    """The lowest voltage seen while the engine was started [V], before the leads or at the plug
    (``at_plug``), and for how long it was low [s] (None: not known)."""

    lowest_v: float
    at_plug: bool = False
    seconds: float | None = None


@dataclass(frozen=True, slots=True)
class RideStart:
    """A vehicle of ``system_v`` (12 or 24) whose supply is at ``supply_v`` [V] before the start.

    ``range``: what the recorder works with; ``code``: its code of ISO 16750-2, or "". ``watts`` [W]
    behind ``lead`` (None: leads lose nothing worth naming). ``hold_up_s``: how long the recorder
    lives without supply (None: not known); ``boot_s``: how long it needs to record again.
    ``profiles`` names the starts to look at; a ``measured`` one stands beside them.
    """

    system_v: int
    supply_v: float
    range: Range
    code: str = ""
    watts: float = 0.0
    lead: Lead | None = None
    hold_up_s: float | None = None
    boot_s: float | None = None
    profiles: tuple[str, ...] = ()
    measured: Measured | None = None


@dataclass(frozen=True, slots=True)
class Start:
    """One start: its lowest voltage [V], and ``limit_v`` that the recorder needs there [V] (before
    its leads, but for a voltage measured at its plug). ``below`` None: never, or, for a measured
    one, for how long is not known. ``gap_s``: how long nothing is recorded [s], None where that is
    not known or nothing is lost."""

    name: str
    lowest_v: float
    limit_v: float
    below: Below | None
    ride: Ride
    gap_s: float | None


@dataclass(frozen=True, slots=True)
class Started:
    """Every start, what the tests of too much voltage ask for, and what is wrong."""

    limit_v: float
    starts: tuple[Start, ...]
    profiles: tuple[Profile, ...]
    beyond: tuple[Event, ...]
    findings: tuple[StartFinding, ...]


def ride_start(request: RideStart) -> Started:
    """The sums. Raises UsageError when a profile is not of this vehicle's voltage."""
    limit = limit_before_leads(request.range.least_v, request.watts, request.lead)
    profiles = _profiles(request)
    starts = [_start(request, profile, limit) for profile in profiles]
    if request.measured is not None:
        starts.append(_measured(request, request.measured, limit))
    events = EVENTS[request.system_v]
    # More than the running vehicle has is a test; less than that is a finding.
    beyond = tuple(event for event in events[1:] if event.volts > request.range.most_v)
    found = [*_of_range(request, limit, events[0]), *_of_starts(request, starts)]
    return Started(limit, tuple(starts), profiles, beyond, tuple(found))


def _profiles(request: RideStart) -> tuple[Profile, ...]:
    known = {profile.name: profile for profile in PROFILES[request.system_v]}
    if unknown := [name for name in request.profiles if name not in known]:
        raise UsageError(
            f"start {', '.join(unknown)} is none of {request.system_v} V; there are "
            f"{', '.join(known)}"
        )
    if request.measured is not None and not request.profiles:
        return ()
    return tuple(known[name] for name in request.profiles or known)


def _start(request: RideStart, profile: Profile, limit: float) -> Start:
    below = time_below(*profile.line(request.supply_v), limit)
    ride, gap = _ride(request, None if below is None else below.seconds)
    return Start(profile.name, min(profile.dip_v, request.supply_v), limit, below, ride, gap)


def _measured(request: RideStart, seen: Measured, limit: float) -> Start:
    limit = request.range.least_v if seen.at_plug else limit
    if seen.lowest_v >= limit:
        ride, gap = _ride(request, None)
        return Start("measured", seen.lowest_v, limit, None, ride, gap)
    if seen.seconds is None:
        return Start("measured", seen.lowest_v, limit, None, Ride.UNKNOWN, None)
    ride, gap = _ride(request, seen.seconds)
    return Start("measured", seen.lowest_v, limit, Below(0.0, seen.seconds), ride, gap)


def _ride(request: RideStart, below_s: float | None) -> tuple[Ride, float | None]:
    """How it gets over ``below_s`` [s] below its limit (None: never), and the gap [s]."""
    if below_s is None:
        return Ride.THROUGH, None
    hold = request.hold_up_s
    if hold is None:
        return Ride.UNKNOWN, None
    if below_s <= hold:
        return Ride.HELD, None
    return Ride.OUT, None if request.boot_s is None else below_s - hold + request.boot_s


def _of_range(request: RideStart, limit: float, running: Event) -> list[StartFinding]:
    found = []
    most = request.range.most_v
    if running.volts > most:
        note = (
            f"a running {request.system_v} V vehicle has {running.volts:g} V, the recorder takes "
            f"{most:g} V at most: do not connect it"
        )
        found.append(StartFinding(StartFault.TOO_MUCH, running.volts, most, "V", note))
    if request.supply_v < limit:
        note = (
            f"the recorder wants {limit:.1f} V in front of its leads, {request.supply_v:g} V are "
            "there before the engine is started"
        )
        found.append(StartFinding(StartFault.TOO_LITTLE, request.supply_v, limit, "V", note))
    return found


def _of_starts(request: RideStart, starts: list[Start]) -> list[StartFinding]:
    found = []
    for start in starts:
        what = "the measured start" if start.name == "measured" else f"start {start.name}"
        if start.ride is Ride.UNKNOWN:
            note = (
                f"{what} goes down to {start.lowest_v:g} V, below {start.limit_v:.1f} V: whether "
                f"the recorder lives on could not be told; {_missing(request, start)}"
            )
            found.append(_finding(StartFault.COULD_NOT_TELL, start, note))
        elif start.ride is Ride.OUT and start.below is not None:
            note = _dropped(what, start.limit_v, start.below.seconds, request.code)
            found.append(_finding(StartFault.DROPS_OUT, start, note))
    return found


def _missing(request: RideStart, start: Start) -> str:
    if start.below is None:
        return "say how long it was low"
    return f"say how long it holds up ({start.below.seconds:.2f} s are wanted)"


def _dropped(what: str, limit_v: float, seconds: float, code: str) -> str:
    if not code:
        return (
            f"{what} is below {limit_v:.1f} V for {seconds:.2f} s, longer than the recorder "
            "holds up"
        )
    # A code whose range begins above the dips says so itself.
    return (
        f"{what} is below {limit_v:.1f} V for {seconds:.2f} s, longer than the recorder holds up; "
        f"code {code} allows that, but it has to come back unharmed"
    )


def _finding(kind: StartFault, start: Start, note: str) -> StartFinding:
    return StartFinding(kind, start.lowest_v, start.limit_v, "V", note)
