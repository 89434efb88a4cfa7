"""What was typed about a log of positions or speeds: its columns, units and times."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, tzinfo

from asfound.calc.log_values import SPEED_UNITS, TimeForm
from asfound.errors import UsageError
from asfound.jobs.asked import Fields, one_of, text_of
from asfound.jobs.read_clock import named_zone
from asfound.jobs.read_track_csv import PURPOSES, CsvForm

PAIR = re.compile(r"\s*([a-z]+)\s*=\s*([^=]{1,80}?)\s*")
DECIMALS = (".", ",")


@dataclass(frozen=True, slots=True)
class TrackAsk:
    """How a log is to be read, and about when it was made (None: not said)."""

    form: CsvForm
    day: date | None


def ask_track(fields: Fields, before: str = "") -> TrackAsk:
    """Fields, each after ``before``: columns time=1,lat=Latitude · speed_unit km/h · times iso ·
    zone Europe/Madrid · decimal , · day 2026-11-03. Raises UsageError."""
    form = CsvForm(
        ask_columns(text_of(fields, f"{before}columns"), f"{before}columns", PURPOSES),
        one_of(text_of(fields, f"{before}speed_unit", "km/h"), f"{before}speed_unit", SPEED_UNITS),
        ask_times(fields, before),
        ask_zone_of(fields, before),
        ask_comma(fields, before),
    )
    return TrackAsk(form, ask_day(text_of(fields, f"{before}day"), f"{before}day"))


def ask_columns(text: str, name: str, purposes: tuple[str, ...]) -> dict[str, str]:
    """ "time=1,speed=v" as purpose -> column. Raises UsageError."""
    made: dict[str, str] = {}
    for part in text.split(",") if text else ():
        found = PAIR.fullmatch(part)
        if found is None or found[1] not in purposes or found[1] in made:
            raise UsageError(
                f"{name} {text!r}: write {purposes[0]}=NAME,{purposes[1]}=NUMBER; what is there "
                f"for columns: {', '.join(purposes)}"
            )
        made[found[1]] = found[2]
    return made


def ask_times(fields: Fields, before: str = "") -> TimeForm:
    """How times are written."""
    return TimeForm(
        one_of(text_of(fields, f"{before}times", "iso"), f"{before}times", list(TimeForm))
    )


def ask_zone_of(fields: Fields, before: str = "") -> tzinfo:
    """Of times without offset; UTC unless said."""
    text = text_of(fields, f"{before}zone")
    return named_zone(text) if text else UTC


def ask_comma(fields: Fields, before: str = "") -> bool:
    """Whether the decimal sign is a comma."""
    return one_of(text_of(fields, f"{before}decimal", "."), f"{before}decimal", DECIMALS) == ","


def ask_day(text: str, name: str) -> date | None:
    """A date; None for "". Raises UsageError."""
    if not text:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise UsageError(f"{name}: {text!r} is no date; write 2026-11-03") from None
