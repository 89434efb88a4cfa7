"""The recorder's clock on the command line: options, lines and JSON."""

from __future__ import annotations

from typing import Annotated

import typer

from asfound.calc.clock_offset import offset_text
from asfound.cli.output import say
from asfound.model.clock import ClockOffset
from asfound.model.reading import Reading

ZoneOption = Annotated[
    str,
    typer.Option(
        "--zone",
        metavar="ZONE",
        help="Whose local time the recorder should show: Europe/Madrid, +01:00; else as it is set.",
    ),
]
PhoneZoneOption = Annotated[
    str,
    typer.Option(
        "--phone-zone",
        metavar="ZONE",
        help="The phone's time zone, for photographs that do not say it.",
    ),
]
PhoneErrorOption = Annotated[
    float,
    typer.Option(
        "--phone-error", metavar="SECONDS", help="How far the phone's own clock may be off."
    ),
]


def show_clock(reading: Reading, moment: str = "") -> None:
    """How far the recorder's clock is off, or why that is not known; ``moment``: "as found"."""
    name = f"clock {moment}".strip()
    if reading.clock is None:
        if reading.clock_note:
            say(f"{name}: {reading.clock_note}")
        return
    for line in clock_lines(reading.clock, name):
        say(line)


def clock_lines(clock: ClockOffset, name: str) -> list[str]:
    """The offset, what it rests on, and what a person should know, a line each."""
    lines = [
        f"{name}: {offset_text(clock)}",
        f"  against {clock.zone}; the phone taken to be right to {clock.phone_error_s:g} s",
    ]
    return lines + [f"  {line}" for line in (clock.hint, *clock.notes) if line]


def clock_json(clock: ClockOffset | None) -> dict[str, object] | None:
    """The documented form (docs/reading.md)."""
    if clock is None:
        return None
    return {
        "offset_s": round(clock.offset_s, 3),
        "low_s": round(clock.low_s, 3),
        "high_s": round(clock.high_s, 3),
        "photos": clock.photos,
        "zone": clock.zone,
        "zone_sure": clock.zone_sure,
        "phone_error_s": clock.phone_error_s,
        "contradictory": clock.contradictory,
        "hint": clock.hint,
        "notes": list(clock.notes),
    }
