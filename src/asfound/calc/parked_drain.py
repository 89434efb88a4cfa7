"""Charge of a parked battery over the hours, and how long a recorder may run on.

    drawn(t) [Ah] = run_on * min(t, r) + sleep * max(0, t - r)
    charge(t)     = charge(0) - (drawn(t) + self-discharge * t) / capacity, never below what the
                    cold puts out of reach: 1 - cold_share
    longest r     : drawn(N) = (charge(0) - least) * capacity - self-discharge * N

``run_on`` and ``sleep`` are whole currents [A], the vehicle's own in both. Capacity is that of the
20 h rate; a current above that rate counts as more, after Peukert: I * (I / I20)^(k - 1), k = 1.2.
Slower discharge yields a little more than the label says, which is not counted. Valid for currents
up to a few times the 20 h rate, one temperature, and a battery without a shorted cell.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from asfound.calc.battery_charge import Battery, cold_share

PEUKERT = 1.2
"""Peukert's exponent of starter batteries [1] (from memory: 1.1 AGM to 1.3 flooded and aged)."""
RATE_HOURS = 20.0
"""Hours of the discharge that labels state (EN 50342-1; from memory)."""
SELF_A_MONTH = 0.03
"""Share [1] that a battery loses by itself in 30 days, whatever the temperature (common practice,
no source: 3 to 5 % when warm, less in the cold)."""
MONTH_HOURS = 720.0
USUAL_ASLEEP_A = 0.05
"""What service texts for cars allow a vehicle that sleeps [A] (25 to 50 mA, others 10 to 120 mA;
read). No common norm was found, and a lorry has its own figure: worth a remark, no finding."""


@dataclass(frozen=True, slots=True)
class Drain:
    """Currents from the battery [A], the vehicle's own in both: ``run_on_a`` for the first
    ``run_on_h`` [h] after ignition off, then ``sleep_a``. ``own_share``: self-discharge in 30 days
    [1]."""

    run_on_a: float
    run_on_h: float
    sleep_a: float
    own_share: float = SELF_A_MONTH


def counted_amperes(amperes: float, battery: Battery) -> float:
    """What a current [A] takes from the capacity of the 20 h rate [Ah per h]; Peukert above it."""
    rate = battery.capacity_ah / RATE_HOURS
    above: float = max(1.0, amperes / rate) ** (PEUKERT - 1)
    return amperes * above


def _rates(battery: Battery, drain: Drain) -> tuple[float, float]:
    """Charge lost an hour [1/h]: while running on, and asleep."""
    own = drain.own_share / MONTH_HOURS
    capacity = battery.capacity_ah
    return (
        counted_amperes(drain.run_on_a, battery) / capacity + own,
        counted_amperes(drain.sleep_a, battery) / capacity + own,
    )


def charge_after(battery: Battery, drain: Drain, charge: float, hours: float) -> float:
    """Charge [1] ``hours`` [h] after ignition off, from ``charge`` [1]."""
    running, asleep = _rates(battery, drain)
    first = min(hours, drain.run_on_h)
    left = charge - running * first - asleep * (hours - first)
    return max(left, min(charge, 1 - cold_share(battery.celsius)))


def hours_until(battery: Battery, drain: Drain, charge: float, least: float) -> float:
    """Hours [h] until the charge falls from ``charge`` to ``least`` [1]; 0 when it is there,
    endless when it never gets there."""
    least = max(least, 1 - cold_share(battery.celsius))
    room = charge - least
    if room <= 0:
        return 0.0
    running, asleep = _rates(battery, drain)
    first = running * drain.run_on_h
    if first >= room:
        return room / running
    return drain.run_on_h + (room - first) / asleep if asleep > 0 else inf


def longest_run_on(
    battery: Battery, drain: Drain, charge: float, least: float, hours: float
) -> float | None:
    """The longest run-on [h] after which ``least`` [1] is left when ``hours`` [h] are over, at
    most ``hours``; None: not even without any run-on."""
    running, asleep = _rates(battery, drain)
    room = charge - max(least, 1 - cold_share(battery.celsius)) - asleep * hours
    if room < 0:
        return None
    if running <= asleep:
        return hours
    return min(hours, room / (running - asleep))
