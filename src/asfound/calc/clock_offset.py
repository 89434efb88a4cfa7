"""How far a clock in photographs is from true time, by intervals that hold the truth.

A clock that shows whole seconds shows them truncated: it stands anywhere in [shown, shown + 1 s).
So does the capture time in EXIF without a fraction (Exif 2.32, CIPA DC-008: DateTimeOriginal;
its fraction is in SubSecTimeOriginal). Each photograph therefore gives an interval for

    offset = local time that the recorder shows - local time that is true        [s]

that surely holds it, and several photographs the intersection of theirs. The phone's own error is
the same in all of them: it widens the result once and cannot be averaged away.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta, tzinfo

from asfound.model.clock import PHONE_ERROR_S, ClockOffset

LAG_S = 0.2
"""A menu is drawn anew, and a monitor shows it, a little after the clock went on (common
practice, no source)."""

DAY_S = 86_400.0
HOUR_S = 3_600.0

NEAR_S = 900.0
"""An offset this near to whole hours may be whole hours and a drift: zones lie at least a quarter
of an hour apart (IANA tz database)."""


@dataclass(frozen=True, slots=True)
class ClockShot:
    """One photograph of the clock.

    ``shown``: what it says, naive; a time alone when no day was read. ``shown_step_s``: 1 or
    60. ``taken``: capture time, aware when its offset from UTC is known. ``taken_step_s``: how
    coarse that time is (truncated); ``slack_s``: how far it may be off either way beside that
    (exposure, a clip's start).
    """

    shown: datetime | time
    shown_step_s: float
    taken: datetime
    taken_step_s: float = 1.0
    slack_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Against:
    """What the recorder is held against: local time in ``zone`` (None: the phone's own local
    time), called ``name``; ``setting_s`` is the offset from UTC that the recorder itself is set
    to, in seconds, None when that is not known."""

    zone: tzinfo | None = None
    name: str = ""
    setting_s: float | None = None


def clock_offset(
    shots: Sequence[ClockShot], against: Against, phone_error_s: float = PHONE_ERROR_S
) -> ClockOffset | None:
    """The offset with its bounds; None without photographs.

    Photographs whose capture time has no offset from UTC count only when none has one.
    """
    known = [shot for shot in shots if shot.taken.utcoffset() is not None]
    used = known or list(shots)
    if not used:
        return None
    spans = [_span(shot, against.zone if known else None) for shot in used]
    low, high = max(low for low, _ in spans), min(high for _, high in spans)
    contradictory = low > high
    if contradictory:
        low, high = min(low for low, _ in spans), max(high for _, high in spans)
    notes = []
    if len(used) < len(shots):
        notes.append(f"{len(shots) - len(used)} more without the phone's offset from UTC not used")
    if contradictory:
        notes.append("the photographs contradict each other: was the clock set between them?")
    if not all(isinstance(shot.shown, datetime) for shot in used):
        notes.append("the day was not read: taken for the nearest")
    made = ClockOffset(
        low - phone_error_s,
        high + phone_error_s,
        len(used),
        against.name if known and against.zone is not None else "the phone's own local time",
        bool(known),
        phone_error_s,
        contradictory,
        notes=tuple(notes),
    )
    return made if contradictory else replace(made, hint=_hint(made, used[0].taken, against))


def _span(shot: ClockShot, zone: tzinfo | None) -> tuple[float, float]:
    """Bounds of this photograph's offset, for a phone that is right."""
    taken = shot.taken if zone is None else shot.taken.astimezone(zone)
    apart = _apart(shot.shown, taken.replace(tzinfo=None))
    return (
        apart - shot.taken_step_s - shot.slack_s,
        apart + shot.shown_step_s + LAG_S + shot.slack_s,
    )


def _apart(shown: datetime | time, local: datetime) -> float:
    """Seconds from ``local`` to ``shown``; of a time without a day, the nearest such time."""
    if isinstance(shown, datetime):
        return (shown - local).total_seconds()
    apart = (datetime.combine(local.date(), shown) - local).total_seconds()
    return (apart + DAY_S / 2) % DAY_S - DAY_S / 2


def _hint(made: ClockOffset, taken: datetime, against: Against) -> str:
    """What whole hours in the offset may come from; "" when there are none."""
    hours = round(made.offset_s / HOUR_S)
    if not hours or abs(made.offset_s - hours * HOUR_S) > NEAR_S + made.within_s:
        return ""
    exact = made.low_s <= hours * HOUR_S <= made.high_s
    way = "fast" if hours > 0 else "slow"
    start = f"exactly {abs(hours)} h {way}" if exact else f"{abs(hours)} h of it"
    return f"{start}: {_cause(hours, made, taken, against)}"


def _cause(hours: int, made: ClockOffset, taken: datetime, against: Against) -> str:
    if not made.zone_sure:
        return "another time zone or daylight saving, in the phone or in the recorder?"
    local = taken if against.zone is None else taken.astimezone(against.zone)
    here = (local.utcoffset() or timedelta()).total_seconds()
    if against.setting_s is not None and against.setting_s - here == hours * HOUR_S:
        return "that is how far the recorder's own zone setting is from this local time"
    if abs(hours) == 1:
        saving = (local.dst() or timedelta()) > timedelta()
        if hours < 0:
            return "daylight saving not set?" if saving else "set to another time zone?"
        return "set to another time zone?" if saving else "daylight saving on, or left on?"
    return "set to another time zone?"


def offset_text(clock: ClockOffset) -> str:
    """For a person: "3 min 12 s slow (± 3 s), from 2 photographs"."""
    middle = round(clock.offset_s)
    # Rounded outward, so that the words still hold the truth.
    within = _rounded_up(max(clock.high_s - middle, middle - clock.low_s))
    source = f"from {clock.photos} photograph{'' if clock.photos == 1 else 's'}"
    if clock.contradictory:
        low, high = _span_words(round(clock.low_s)), _span_words(round(clock.high_s))
        return f"between {low} and {high}, {source} that contradict each other"
    if clock.low_s <= 0.0 <= clock.high_s and abs(middle) <= within:
        return f"right to within {_length_words(_rounded_up(max(clock.high_s, -clock.low_s)))}" + (
            f", {source}"
        )
    return f"{_span_words(middle)} (± {_length_words(within)}), {source}"


def _rounded_up(seconds: float) -> int:
    # A hair above a whole second is arithmetic, not uncertainty.
    return int(-(-(seconds - 1e-6) // 1))


def _span_words(seconds: int) -> str:
    return f"{_length_words(abs(seconds))} {'slow' if seconds < 0 else 'fast'}"


def _length_words(seconds: int) -> str:
    """ "3 min 12 s"; days, hours and minutes only where there are some."""
    minutes, rest = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    days, hours = divmod(hours, 24)
    parts = ((days, "d"), (hours, "h"), (minutes, "min"), (rest, "s"))
    return " ".join(f"{number} {unit}" for number, unit in parts if number) or "0 s"
