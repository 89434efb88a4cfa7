"""What a recorder's own zone setting would show over a year, against the zone it works in."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from zoneinfo import ZoneInfo

from asfound.calc.zone_changes import (
    Change,
    Offset,
    WrongSpan,
    changes,
    rule_elsewhere,
    wrong_spans,
    year_span,
    zone_offset,
)

GPS_AHEAD_S = 18
"""GPS time is ahead of UTC by this since 2017-01-01 (IERS Bulletin C; TAI - UTC 37 s, GPS 19 s
behind TAI): a receiver that has not heard of leap seconds yet shows it for up to 12.5 minutes."""


class ZoneFault(StrEnum):
    """What is found about a zone setting."""

    WRONG = "shows-wrong-local-time"


@dataclass(frozen=True, slots=True)
class ZoneFinding:
    """``measured`` hours of the year against ``limit``, and what a person would say."""

    kind: ZoneFault
    measured: float
    limit: float
    note: str


@dataclass(frozen=True, slots=True)
class RecorderZone:
    """What the recorder is set to: a ``zone``, or ``base_s`` [s] ahead of UTC, with daylight saving
    by the rule of ``rule`` (None: off)."""

    words: str
    zone: ZoneInfo | None = None
    base_s: float = 0.0
    rule: ZoneInfo | None = None

    def offset(self) -> Offset:
        """What it is ahead of UTC [s]."""
        if self.zone is not None:
            return zone_offset(self.zone)
        if self.rule is not None:
            return rule_elsewhere(self.base_s, self.rule)
        return lambda _: self.base_s


@dataclass(frozen=True, slots=True)
class TableZone:
    """The fleet's ``zone`` over ``year``; ``recorder`` None: only the zone's own changes."""

    zone: ZoneInfo
    year: int
    recorder: RecorderZone | None = None


@dataclass(frozen=True, slots=True)
class ZoneTable:
    """The year from ``start`` to ``end`` (UTC), the zone's ``changes`` in it, and the ``spans`` in
    which the recorder would show something else; ``notes``: lines for the person."""

    start: datetime
    end: datetime
    changes: tuple[Change, ...]
    spans: tuple[WrongSpan, ...]
    wrong_hours: float
    notes: tuple[str, ...]
    findings: tuple[ZoneFinding, ...]


def zone_table(request: TableZone) -> ZoneTable:
    """The table."""
    true = zone_offset(request.zone)
    start, end = year_span(request.year, true)
    made = changes(true, start, end)
    spans: tuple[WrongSpan, ...] = ()
    notes = []
    if any(not change.forward for change in made):
        notes.append(
            "a picture from the hour that comes twice has two true times: keep UTC, or the order "
            "of recordings, to tell which"
        )
    if request.recorder is not None:
        spans = wrong_spans(request.recorder.offset(), true, start, end)
        if request.recorder.rule is not None:
            notes.append(
                "taken is that the recorder changes at the hour at which clocks of that region do; "
                "in the nights of the changes it may be otherwise"
            )
    hours = sum(span.hours for span in spans)
    return ZoneTable(start, end, made, spans, hours, tuple(notes), tuple(_findings(spans, hours)))


def local_text(at: datetime, ahead_s: float) -> str:
    """A moment by a clock that is ahead of UTC by ``ahead_s`` [s]."""
    return f"{at.astimezone(UTC).replace(tzinfo=None) + timedelta(seconds=ahead_s):%Y-%m-%d %H:%M}"


def shift_text(seconds: float) -> str:
    """ "+1:00" for hours and minutes, "+0:00:30" where there are seconds."""
    sign = "-" if seconds < 0 else "+"
    minutes, rest = divmod(round(abs(seconds)), 60)
    tail = f":{rest:02d}" if rest else ""
    return f"{sign}{minutes // 60}:{minutes % 60:02d}{tail}"


def _findings(spans: tuple[WrongSpan, ...], hours: float) -> list[ZoneFinding]:
    if not spans:
        return []
    worst = max(spans, key=lambda span: abs(span.error_s))
    way = "ahead" if worst.error_s > 0 else "behind"
    worth = shift_text(abs(worst.error_s))[1:]
    note = (
        f"{hours / 24:.0f} days of the year the recorder is up to {worth} h {way}: footage asked "
        "for by the clock on the wall is looked for at the wrong time"
    )
    return [ZoneFinding(ZoneFault.WRONG, hours, 0.0, note)]
