"""Date and time in a line of burned-in text: where they stand in it, and every way to read them.

Orders of a date are those in use: year first (ISO 8601), day first, month first. A layout that
allows several keeps all of them.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

MONTHS = ("JAN", "FEB", "MAR", "APR", "MAY", "JUN", "JUL", "AUG", "SEP", "OCT", "NOV", "DEC")
_NAMES = "|".join(MONTHS)

_TIME = re.compile(
    r"(?P<H>(?<!\d)\d|\d\d) ?: ?(?P<M>[0-5]\d)(?: ?: ?(?P<S>[0-5]\d)(?!\d?:)|(?![\d:]| :))"
    # The second letter is often read wrong, the first alone decides; PARK is no afternoon.
    r"(?: ?(?P<p>[AP])\.?(?:M\.?|[A-Z]?(?![A-Z])))?"
)

_DATES: tuple[tuple[re.Pattern[str], tuple[str, ...]], ...] = (
    (re.compile(r"(?P<a>\d{4}) ?(?P<s>[-/.]) ?(?P<b>\d\d) ?(?P=s) ?(?P<c>\d\d)"), ("ymd",)),
    (re.compile(r"(?P<a>\d\d) ?(?P<s>[-/.]) ?(?P<b>\d\d) ?(?P=s) ?(?P<c>\d{4})"), ("dmy", "mdy")),
    (
        re.compile(
            r"(?<!\d)(?P<a>\d\d) ?(?P<s>[-/.]) ?(?P<b>\d\d) ?(?P=s) ?(?P<c>\d\d)(?!\d(?!\d?:))"
        ),
        ("dmy", "mdy", "ymd"),
    ),
    (re.compile(rf"(?P<a>\d\d)[-/. ]?(?P<b>{_NAMES})[-/., ]{{0,2}}(?P<c>\d{{4}})"), ("dmy",)),
    (re.compile(rf"(?P<a>{_NAMES})[-/. ]?(?P<b>\d\d)[-/., ]{{0,2}}(?P<c>\d{{4}})"), ("mdy",)),
    (re.compile(rf"(?P<a>\d{{4}})[-/. ]?(?P<b>{_NAMES})[-/. ]?(?P<c>\d\d)"), ("ymd",)),
)

OLDEST, NEWEST = 1970, 2099
"""Years a recorder's clock may show: it counts from 1970 or 2000 after a reset (common practice,
no source)."""


@dataclass(frozen=True, slots=True)
class Stamp:
    """A time of day read from a line, and its day in each order that the date allows.

    ``parts`` are (first, last, code) of the pieces in ``text``: H I M S p for the time, and for
    the date "0", "1", "2" its three parts as they stand. ``step_s``: 1, or 60 without seconds.
    """

    text: str
    parts: tuple[tuple[int, int, str], ...]
    clock_s: int
    step_s: float
    days: tuple[tuple[str, date], ...]

    @property
    def by_order(self) -> Mapping[str, date]:
        """The day in each order."""
        return dict(self.days)

    def at(self, moment: datetime, order: str) -> str:
        """The line as it would stand at ``moment``; the date as ``order`` has it ("": as it is)."""
        out, at = [], 0
        for first, last, code in sorted(self.parts):
            out.append(self.text[at:first])
            out.append(_filled(code, self.text[first:last], moment, order))
            at = last
        return "".join([*out, self.text[at:]])


def stamps(text: str) -> Stamp | None:
    """Date and time in ``text``; None unless exactly one time of day stands in it."""
    line = text.upper()
    if len(line) != len(text):
        return None
    times = list(_TIME.finditer(line))
    if len(times) != 1:
        return None
    found = times[0]
    hours = int(found["H"])
    half = found["p"]
    if hours > 23 or (half and not 1 <= hours <= 12):
        return None
    parts = [(*found.span("M"), "M")]
    parts.append((*found.span("H"), "I" if half else "H"))
    if half:
        hours = hours % 12 + (12 if half == "P" else 0)
        parts.append((*found.span("p"), "p"))
    if found["S"] is not None:
        parts.append((*found.span("S"), "S"))
    seconds = hours * 3600 + int(found["M"]) * 60 + int(found["S"] or 0)
    date_parts, days = _dated(line, found.span())
    step = 1.0 if found["S"] is not None else 60.0
    return Stamp(text, (*parts, *date_parts), seconds, step, days)


def _dated(
    line: str, time: tuple[int, int]
) -> tuple[tuple[tuple[int, int, str], ...], tuple[tuple[str, date], ...]]:
    """The parts of the one date outside ``time``, and its days by order."""
    rest = line[: time[0]] + "\0" * (time[1] - time[0]) + line[time[1] :]
    for pattern, orders in _DATES:
        found = pattern.search(rest)
        if found is None:
            continue
        days = tuple((order, day) for order in orders for day in _day(found, order))
        if days:
            parts = tuple((*found.span(name), str(at)) for at, name in enumerate("abc"))
            return parts, days
    return (), ()


def _day(found: re.Match[str], order: str) -> Iterator[date]:
    texts = dict(zip(order, (found["a"], found["b"], found["c"]), strict=True))
    month = MONTHS.index(texts["m"]) + 1 if texts["m"] in MONTHS else texts["m"]
    year = int(texts["y"]) + (2000 if len(texts["y"]) == 2 else 0)
    try:
        day = date(year, int(month), int(texts["d"]))
    except ValueError:
        return
    if OLDEST <= year <= NEWEST:
        yield day


def _filled(code: str, old: str, moment: datetime, order: str) -> str:
    if code.isdigit():
        return _date_part(order[int(code)] if order else "", old, moment)
    if code == "p":
        letter = "P" if moment.hour >= 12 else "A"
        return letter if old.isupper() else letter.lower()
    values = {"H": moment.hour, "I": moment.hour % 12 or 12, "M": moment.minute, "S": moment.second}
    # A lone digit stands alone for as long as it fits.
    return f"{values[code]:0{len(old)}d}" if len(old) == 2 else str(values[code])


def _date_part(what: str, old: str, moment: datetime) -> str:
    if what == "y":
        return f"{moment.year:04d}"[-len(old) :]
    if what == "m":
        name = MONTHS[moment.month - 1]
        if old.upper() in MONTHS:
            return name if old.isupper() else name.capitalize()
        return f"{moment.month:02d}"
    return f"{moment.day:02d}" if what == "d" else old


def moment_of(clock_s: float, day: date | None) -> datetime:
    """``clock_s`` seconds into ``day`` (any day when None)."""
    return datetime.combine(day or date(2001, 1, 1), datetime.min.time()) + timedelta(
        seconds=clock_s
    )
