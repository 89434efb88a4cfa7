"""What was typed about a recorder's supply and a start of the engine, as a request for the sums."""

from __future__ import annotations

import re

from asfound.calc.crank_dip import OFF_V
from asfound.errors import UsageError
from asfound.jobs.asked import Fields, text_of
from asfound.jobs.asked_power import (
    SECONDS,
    VOLTS,
    amount,
    amount_of,
    lead_of,
    range_of,
    system_of,
)
from asfound.jobs.ride_start import Measured, RideStart

CAUTIONS = ("park", "battery", "height", "high-voltage")
"""What to look out for at this work: ids of data/cautions.toml."""
NAMES = (
    "system", "code", "least", "most", "supply", "starts", "lowest", "lowest_at_plug", "lasting",
    "draws", "length", "section", "lead_celsius", "hold_up", "boot",
)  # fmt: skip
"""The fields: system 24V · code H, or least 9V and most 36V · supply 24V before the start · starts
I, II · a measured start: lowest 17V (lowest_at_plug: at the recorder's plug) lasting 1.2s · draws
25W · length 8m · section 1.5mm2 · hold_up 0.2s · boot 45s."""


def ask_start(fields: Fields) -> RideStart:
    """The request. Raises UsageError."""
    system = system_of(fields)
    taken = range_of(fields)
    if taken is None:
        raise UsageError("say what the recorder takes: its code (A to H), or least 9V and most 36V")
    code, limits = taken
    lead = lead_of(fields)
    draws = amount_of(fields, "draws", {"W": 1.0}, 0, 10_000)
    if lead is not None and draws is None:
        raise UsageError("draws is missing: what leads lose depends on it; write for example 25W")
    supply = text_of(fields, "supply", f"{OFF_V[system]:g}V")
    starts = re.split(r"[,;\s]+", text_of(fields, "starts").upper())
    return RideStart(
        system,
        amount(supply, "supply", VOLTS, 1, 100),
        limits,
        code,
        draws or 0.0,
        lead,
        amount_of(fields, "hold_up", SECONDS, 0, 100_000),
        amount_of(fields, "boot", SECONDS, 0, 100_000),
        tuple(dict.fromkeys(name for name in starts if name)),
        _measured(fields),
    )


def _measured(fields: Fields) -> Measured | None:
    battery = amount_of(fields, "lowest", VOLTS, 0, 100)
    plug = amount_of(fields, "lowest_at_plug", VOLTS, 0, 100)
    lasting = amount_of(fields, "lasting", SECONDS, 0.001, 1000)
    if battery is not None and plug is not None:
        raise UsageError("say the lowest voltage at the battery or at the plug; not both")
    lowest = plug if battery is None else battery
    if lowest is None:
        if lasting is not None:
            raise UsageError("lasting goes with the lowest voltage that was measured: 17V")
        return None
    return Measured(lowest, plug is not None, lasting)
