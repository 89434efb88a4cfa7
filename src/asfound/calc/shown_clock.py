"""What a clock on the screen says: day, time and how fine it is; and a zone setting in seconds."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time

from asfound.calc.clock_offset import ClockShot
from asfound.model.kinds import Date, DateLayout, ReadOnly
from asfound.model.menu_map import Field, MenuMap
from asfound.model.reading import FieldReading, PhotoReading, State

_LAYOUTS: Mapping[DateLayout, str] = {
    "YYYY-MM-DD": r"(?P<y>\d{4})-(?P<m>\d{2})-(?P<d>\d{2})",
    "DD.MM.YYYY": r"(?P<d>\d{2})\.(?P<m>\d{2})\.(?P<y>\d{4})",
    "DD/MM/YYYY": r"(?P<d>\d{2})/(?P<m>\d{2})/(?P<y>\d{4})",
    "MM/DD/YYYY": r"(?P<m>\d{2})/(?P<d>\d{2})/(?P<y>\d{4})",
}
_TIME = re.compile(r"(?<![\d:])(\d{1,2}):(\d{2})(?::(\d{2}))?(?![\d:])\s*([AaPp]\.?[Mm]\b)?")
_ZONE = re.compile(r"(?:UTC|GMT)?\s*(?:([+\-−])\s*)?(\d{1,2})(?::?([0-5]\d))?(?:\s*h)?")


@dataclass(frozen=True, slots=True)
class ShownClock:
    """A clock as it stands on the screen; ``day`` None when it shows none that is certain.
    ``step_s``: 1 or 60. ``row``: the label of an entry row it was read from ("": it runs)."""

    day: date | None
    at: time
    step_s: float
    row: str = ""

    @property
    def moment(self) -> datetime | time:
        """Day and time, or the time alone."""
        return self.at if self.day is None else datetime.combine(self.day, self.at)


def parse_clock(text: str, layouts: Sequence[DateLayout] = ()) -> ShownClock | None:
    """The clock in ``text``; ``layouts`` are those that the recorder writes dates in (none:
    any). None unless there is exactly one time of day in it."""
    times = list(_TIME.finditer(text))
    if len(times) != 1:
        return None
    hour, minute, second, half = times[0].groups()
    hours = int(hour)
    if half:
        if not 1 <= hours <= 12:
            return None
        hours = hours % 12 + (12 if half[0] in "Pp" else 0)
    try:
        at = time(hours, int(minute), int(second or 0))
    except ValueError:
        return None
    return ShownClock(_day(text, layouts or tuple(_LAYOUTS)), at, 1.0 if second else 60.0)


def _day(text: str, layouts: Sequence[DateLayout]) -> date | None:
    """The one date that the layouts agree on; None when there is none or more than one."""
    found = set()
    for layout in layouts:
        for match in re.finditer(rf"(?<!\d){_LAYOUTS[layout]}(?!\d)", text):
            try:
                found.add(date(int(match["y"]), int(match["m"]), int(match["d"])))
            except ValueError:
                continue
    return found.pop() if len(found) == 1 else None


def zone_seconds(text: str) -> float | None:
    """The offset from UTC that a zone setting stands for ("UTC+1", "+05:30", "0:00"), in
    seconds; None when it says none for sure (a city, a summer rule)."""
    words = text.strip()
    if words.upper() in ("UTC", "GMT"):
        return 0.0
    found = _ZONE.fullmatch(words.upper())
    if found is None:
        return None
    sign, hours, minutes = found.groups()
    seconds = int(hours) * 3600.0 + int(minutes or 0) * 60.0
    if (sign is None and seconds) or seconds > 14 * 3600:
        # "1:00" does not say which way; UTC+14 is the farthest there is (IANA tz database).
        return None
    return -seconds if sign in ("-", "−") else seconds


def shown_clock(photo: PhotoReading, menu_map: MenuMap) -> ShownClock | None:
    """The clock that a photograph shows for sure; None when it shows none.

    A running clock stands before the rows that it is set with.
    """
    sure = {
        field.id: field
        for field in photo.fields
        if field.state is State.SURE and field.value is not None
    }
    layouts = tuple(
        dict.fromkeys(f.type.layout for f in menu_map.fields if isinstance(f.type, Date))
    )
    rows = [(menu_map.field(name), field) for name, field in sure.items()]
    for row, field in rows:
        if _runs(row) and (found := parse_clock(field.value or "", layouts)) is not None:
            return found
    times = [pair for pair in rows if pair[0].means == "clock-time"]
    days = [pair for pair in rows if pair[0].means == "clock-date"]
    if len(times) != 1:
        return None
    return _from_rows(times[0], days[0][1] if len(days) == 1 else None)


def _from_rows(at: tuple[Field, FieldReading], day: FieldReading | None) -> ShownClock | None:
    row, field = at
    found = parse_clock(field.value or "")
    if found is None:
        return None
    # Canonical whatever the recorder writes: YYYY-MM-DD.
    when = _day(day.value, ("YYYY-MM-DD",)) if day is not None and day.value else None
    return ShownClock(when, found.at, found.step_s, row.label)


def _runs(row: Field) -> bool:
    return row.means == "clock" or (isinstance(row.type, ReadOnly) and row.type.what == "clock")


def clock_shot(photo: PhotoReading, shown: ShownClock) -> ClockShot | None:
    """The photograph as a measurement; None without a capture time."""
    if photo.taken is None:
        return None
    return ClockShot(
        shown.moment, shown.step_s, photo.taken, photo.taken_step_s, photo.taken_slack_s
    )
