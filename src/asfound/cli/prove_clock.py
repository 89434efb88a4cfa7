"""Burned-in clocks on the command line: options and JSON."""

from __future__ import annotations

from typing import Annotated

import typer

from asfound.calc.overlay_text import moment_of
from asfound.jobs.prove_clock_judge import ClockAsk, parse_noted
from asfound.model.burned_clock import BurnedClock
from asfound.sources import CLOCK_OFFSET_SECONDS

ClockOption = Annotated[
    bool,
    typer.Option("--clock", help="Read burned-in clocks; a recording without one is unclear."),
]
ClockZoneOption = Annotated[
    str,
    typer.Option(
        "--clock-zone",
        metavar="ZONE",
        help="Read burned-in clocks; whose local time they should show: Europe/Madrid, +01:00.",
    ),
]
ClockNowOption = Annotated[
    str,
    typer.Option(
        "--clock-now",
        metavar="SHOWN=TRUE",
        help="Read burned-in clocks; the recorder's as noted beside a trusted one.",
    ),
]
ClockLimitOption = Annotated[
    float,
    typer.Option("--clock-limit", metavar="SECONDS", help="Offset of a clock that is let pass."),
]

CLOCK_LIMIT_S = CLOCK_OFFSET_SECONDS.value


def clock_ask(wanted: bool, zone: str, now: str, limit_s: float) -> tuple[ClockAsk, bool]:
    """What the options ask for, and whether clocks are to be read. Raises UsageError."""
    noted = parse_noted(now) if now else None
    return ClockAsk(zone, noted, wanted, limit_s), wanted or bool(zone or now)


def clock_json(clock: BurnedClock | None) -> dict[str, object] | None:
    """The documented form (docs/proof.md)."""
    if clock is None:
        return None

    def rounded(value: float | None) -> float | None:
        return None if value is None else round(value, 3)

    at = moment_of(clock.clock_s, None)
    return {
        "state": clock.state.value,
        "text": clock.text,
        "box": list(clock.box),
        "time": f"{at:%H:%M:%S.%f}"[:-3],
        "days": [day.isoformat() for day in clock.days],
        "within_s": rounded(clock.within_s),
        "pictures": clock.pictures,
        "looked_at": clock.looked_at,
        "rate": rounded(clock.rate),
        "change_from_s": rounded(clock.change_from_s),
        "change_to_s": rounded(clock.change_to_s),
        "change_s": rounded(clock.change_s),
        "offset_s": rounded(clock.offset_s),
        "against": clock.against,
        "notes": list(clock.notes),
    }
