"""Starts of the engine: what a recorder gets over. ISO 16750-2 as read in a public file."""

from __future__ import annotations

from dataclasses import replace

import pytest

from asfound.calc.crank_dip import CODES, Range
from asfound.calc.supply_leads import Lead
from asfound.errors import UsageError
from asfound.jobs.plot_start import plot_start
from asfound.jobs.ride_start import (
    Measured,
    Ride,
    RideStart,
    StartFault,
    ride_start,
)

LORRY = RideStart(24, 24.0, CODES["H"], "H", hold_up_s=0.2, boot_s=45)


def rides(request: RideStart) -> dict[str, Ride]:
    return {one.name: one.ride for one in ride_start(request).starts}


def test_code_h_on_a_lorry() -> None:
    # Inferred from tables 4 and 4.6.3: a short dip in I, the whole plateau in II and III.
    assert rides(LORRY) == {"I": Ride.HELD, "II": Ride.OUT, "III": Ride.OUT}
    result = ride_start(LORRY)
    gap = result.starts[1].gap_s
    assert gap is not None and 54 < gap < 56  # 10.1 - 0.2 + 45 s
    assert "has to come back unharmed" in result.findings[0].note
    assert {one.kind for one in result.findings} == {StartFault.DROPS_OUT}
    # Code E, 10 V, gets over I without holding up; leads of 1 ohm and 25 W change that.
    assert rides(replace(LORRY, range=CODES["E"], code="E"))["I"] is Ride.THROUGH
    thin = Lead(10, 0.5)
    behind = ride_start(replace(LORRY, range=CODES["E"], watts=25, lead=thin, code="E"))
    assert behind.limit_v == pytest.approx(10 + thin.ohms * 2.5)
    assert behind.starts[0].ride is Ride.HELD


def test_what_could_not_be_told() -> None:
    unknown = ride_start(replace(LORRY, hold_up_s=None))
    assert {one.ride for one in unknown.starts} == {Ride.UNKNOWN}
    assert "say how long it holds up" in unknown.findings[0].note
    lowest = replace(LORRY, measured=Measured(15.0))
    [start] = ride_start(lowest).starts
    assert start.ride is Ride.UNKNOWN
    assert "say how long it was low" in ride_start(lowest).findings[0].note


def test_a_measured_start() -> None:
    def seen(measured: Measured, **changed: object) -> Ride:
        [start] = ride_start(replace(LORRY, measured=measured, **changed)).starts  # type: ignore[arg-type]
        return start.ride

    assert seen(Measured(19.0)) is Ride.THROUGH
    assert seen(Measured(15.0, seconds=0.1)) is Ride.HELD
    assert seen(Measured(15.0, seconds=1.5)) is Ride.OUT
    # 18.2 V at the plug is enough, the same in front of leads that lose half a volt is not.
    lead = Lead(8, 0.5)
    assert seen(Measured(18.2, at_plug=True), lead=lead, watts=25) is Ride.THROUGH
    assert seen(Measured(18.2), lead=lead, watts=25) is Ride.UNKNOWN
    both = ride_start(replace(LORRY, measured=Measured(19.0), profiles=("I",)))
    assert [one.name for one in both.starts] == ["I", "measured"]


def test_the_wrong_voltage() -> None:
    result = ride_start(RideStart(24, 24.0, CODES["C"], "C"))
    assert result.findings[0].kind is StartFault.TOO_MUCH and "16 V" in result.findings[0].note
    low = ride_start(RideStart(12, 12.0, CODES["F"], "F"))
    assert low.findings[0].kind is StartFault.TOO_LITTLE
    with pytest.raises(UsageError, match="start IV is none of 24 V"):
        ride_start(replace(LORRY, profiles=("IV",)))


def test_what_the_range_does_not_say() -> None:
    names = [event.name for event in ride_start(LORRY).beyond]
    assert names == ["long overvoltage", "load dump, suppressed", "load dump, unsuppressed"]
    wide = ride_start(RideStart(12, 12.0, Range(9, 36)))
    assert [event.name for event in wide.beyond] == ["load dump, unsuppressed"]


def test_the_plot() -> None:
    asked = replace(LORRY, watts=25, lead=Lead(8, 1.5), measured=Measured(15, seconds=1.0),
                    profiles=("I", "II"))  # fmt: skip
    plot = plot_start(asked, ride_start(asked))
    assert plot.names[:3] == ("start I", "start II", "measured") and len(plot.names) == 6
    line = plot.layers[0]
    assert min(getattr(line, "y")) == 10 and getattr(line, "y")[-1] == 24  # noqa: B009 (a union)
